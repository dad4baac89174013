"""Paper: the report of a day and the blank run sheet, each one self-contained HTML page."""
