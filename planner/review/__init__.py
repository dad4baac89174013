"""A day looked back on: why each change was made, and what came of it."""
