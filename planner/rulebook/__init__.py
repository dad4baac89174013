"""The rules file: read, checked, its bands."""
