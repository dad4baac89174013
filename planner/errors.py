"""What can go wrong for the person using the program, said so that a tired reader can act on it."""


class Refusal(Exception):
    """A request that was wrong: nothing was changed.

    Parameters
    ----------
    code : short machine-readable word, such as ``"not-due"`` or ``"bad-value"``.
    message : what is wrong, in one or two sentences.
    where : file and key, or option, that it is about.
    hint : what to type or do instead.
    """

    exit_status = 2

    def __init__(self, code: str, message: str, *, where: str = "", hint: str = "") -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.where = where
        self.hint = hint

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
