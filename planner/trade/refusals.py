"""What can go wrong for the person using the program, said so that a tired reader can act on it."""

MOST_LINES = 40  # of a message; a file with more mistakes shows the first of them
MOST_LETTERS = 300  # of a line of a message; what was typed may be far longer
MOST_PLACE = 1000  # letters of place and hint, which may hold a path


class Refusal(Exception):
    """A request that was wrong: nothing was changed.

    Parameters
    ----------
    code : short machine-readable word, such as ``"not-due"`` or ``"bad-value"``.
    message : what is wrong, in one or two sentences; cut where it repeats something endless.
    where : file and key, or option, that it is about.
    hint : what to type or do instead.
    """

    exit_status = 2

    def __init__(self, code: str, message: str, *, where: str = "", hint: str = "") -> None:
        self.code = code
        self.message = _bounded(message)
        self.where = _cut(where, MOST_PLACE)
        self.hint = _cut(hint, MOST_PLACE)
        super().__init__(self.message)

    def as_dict(self) -> dict[str, str]:
        """Return the four keys of the ``error`` object that ``--json`` prints."""
        return {
            "code": self.code,
            "message": self.message,
            "where": self.where,
            "try": self.hint,
        }


class Unusable(Refusal):
    """A plan or rules file that cannot be used: corrupt, of a newer format, or locked."""

    exit_status = 3


def quoted(text: str, most: int = 40) -> str:
    """Return something that was typed, in quotes, cut where it is long."""
    return repr(_cut(text, most))


def _bounded(message: str) -> str:
    """Cut long lines in the middle, so that both ends can be read, and leave lines out."""
    lines = [_cut(line, MOST_LETTERS) for line in message.split("\n")]
    if len(lines) > MOST_LINES + 1:
        left = len(lines) - MOST_LINES
        lines = [*lines[:MOST_LINES], f"and {left} more"]
    return "\n".join(lines)


def _cut(text: str, most: int) -> str:
    if len(text) <= most:
        return text
    half = (most - 1) // 2
    return f"{text[:half]}…{text[-half:]}"
