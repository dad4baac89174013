"""The seal of a plan: comments in its first and last line that show damage.

The first line holds the number of steps and a checksum of the text below it. A plan may still be
edited by hand: the program then says that it is not as it was written. If steps that the seal
counts are missing, or the end line is, they were lost, not edited. Line ends, a byte order mark and
blanks at the end do not count, and a plan without its first line is not checked.
"""

import hashlib
import re

import attrs

_LINE = re.compile(r"\ufeff?# treadgate: (\d{1,9}) steps?, sum ([0-9a-f]{16})\b[^\n]*\n")

_END = "# end"


@attrs.frozen
class Seal:
    """What the first line of a plan says about the rest, and whether it is true.

    Attributes
    ----------
    steps : how many there were when the program wrote it.
    holds : the text is as it was written.
    ends : its last line is there.
    """

    steps: int
    holds: bool
    ends: bool = True


def sealed(text: str, steps: int) -> str:
    """Return the text of a plan with its seal above it."""
    text = f"{text}{_END}\n"
    count = f"{steps} step" if steps == 1 else f"{steps} steps"
    return f"# treadgate: {count}, sum {_sum(text)}; edited by hand this no longer fits\n{text}"


def seal_of(text: str) -> Seal | None:
    """Return the seal of a plan; None where there is none that can be read."""
    plain = text.replace("\r\n", "\n")
    found = _LINE.match(plain)
    if found is None:
        return None
    text = plain[found.end() :]
    ends = re.search(rf"^{_END}[ \t]*$", text, re.MULTILINE) is not None
    return Seal(int(found[1]), _sum(text) == found[2], ends)


def _sum(text: str) -> str:
    return hashlib.sha256(text.rstrip().encode("utf-8", "surrogatepass")).hexdigest()[:16]
