"""Facts into sentences, in the reader's units."""
