"""A finished tank filled in measured steps, held against its model."""
