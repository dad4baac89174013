"""Facts into sentences, in the reader's units, once for every screen, page and file."""
