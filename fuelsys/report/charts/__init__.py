"""Pictures: one file a question."""
