"""The car file, its doubts, and what it says of a change."""
