"""What a person states."""
