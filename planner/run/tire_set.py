"""A set of tires in the crew's words: ``2``, ``set 2 new``, ``B scuffed``."""

import re

from planner.run.readings import MOST_NAME, SetState
from planner.trade.refusals import Refusal, quoted

EXAMPLE = "2 new"

_STATES: dict[str, SetState] = {
    **dict.fromkeys(("new", "sticker", "stickers"), "new"),
    **dict.fromkeys(("scuffed", "scuffs"), "scuffed"),
    **dict.fromkeys(("heat-cycled", "cycled", "used"), "heat-cycled"),
}


def said(text: str, option: str) -> tuple[str, SetState | None]:
    """Read the name of a set, and what it is where that is said.

    Raises
    ------
    Refusal
        There is no name, or it is too long.
    """
    words = re.sub(r"heat[ -]cycled", "heat-cycled", text.strip(), flags=re.IGNORECASE)
    name = re.sub(r"^(?:set\b|#)[\s:=]*", "", words, flags=re.IGNORECASE)
    head, _, last = name.rpartition(" ")
    state = _STATES.get(last.strip(",").lower())
    name = (head if state else name).strip(" ,")
    if not 0 < len(name) <= MOST_NAME:
        raise Refusal(
            "bad-value",
            f"{quoted(text)} does not name a set of tires.",
            where=option,
            hint=f'1 to {MOST_NAME} letters, then new, scuffed or heat-cycled: "{EXAMPLE}"',
        )
    return name, state
