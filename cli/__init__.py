"""The commands: each parses, calls and prints; nothing is computed or worded here."""
