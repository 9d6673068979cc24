"""Tables: one file a question."""
