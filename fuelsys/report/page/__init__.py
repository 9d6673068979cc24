"""The review: its page and the folder that it is written into."""
