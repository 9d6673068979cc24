"""Mesh files as they stand: one file a format."""
