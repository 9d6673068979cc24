"""Fuel-system design checks for a light aircraft, made before its tanks are closed."""
