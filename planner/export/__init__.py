"""A day for other programs: JSON with its schema, and tables."""
