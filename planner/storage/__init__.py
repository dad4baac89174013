"""Plans kept: opened, locked, sealed, saved, mended."""
