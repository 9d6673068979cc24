"""The lines and what flows, stands or breathes in them."""
