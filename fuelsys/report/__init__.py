"""Studies and findings as tables, text, pages, drawings and files; the only rooms that make text for people."""
