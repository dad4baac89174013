"""What should be mentioned about a file of readings, in words."""

from planner.run.csv_file import FileRemark, Unread

MOST_LETTERS = 40  # of a name
MOST_NAMES = 20


def says(remark: FileRemark) -> str:
    """Say one thing about a file, as a sentence."""
    if isinstance(remark, Unread):
        names = [name[:MOST_LETTERS] for name in remark.columns]
        more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
        return f"Columns not read: {', '.join(names[:MOST_NAMES])}{more}."
    name = f"row {remark.row}" if remark.called is None else f"run {remark.called[:MOST_LETTERS]}"
    return f"The file holds {remark.of} runs; number {remark.number} was read ({name})."
