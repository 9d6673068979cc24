"""A flight flown through the solved lines, and what goes wrong on it."""
