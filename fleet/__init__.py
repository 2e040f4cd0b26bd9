"""Facts: what exists, what was measured, and how a stored fact is judged."""
