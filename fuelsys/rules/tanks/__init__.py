"""Rules on a tank and its fittings."""
