"""What was computed."""
