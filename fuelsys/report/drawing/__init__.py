"""What all drawings share: paper, letters, labels, sections, views of a tank."""
