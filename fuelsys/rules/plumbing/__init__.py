"""Rules on lines and what stands in them."""
