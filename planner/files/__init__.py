"""Files as such: named, read, written whole, and TOML into records."""
