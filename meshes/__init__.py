"""The example tanks and designs, and the script that makes the tanks."""
