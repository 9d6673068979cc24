"""The published paragraphs and what covers each."""
