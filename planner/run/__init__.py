"""One run as recorded: readings, cooling, laps, slips; typed, or read from a file."""
