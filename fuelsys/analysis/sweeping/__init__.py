"""One question asked of many cases."""
