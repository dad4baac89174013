"""What the day looks like on a terminal, shared by the commands and the guide."""
