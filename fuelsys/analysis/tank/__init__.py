"""One tank, filled, tilted and drained: what it holds, keeps, warns of and shows."""
