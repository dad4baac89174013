"""What the driver says of the car, read from his own words: a feel, or one for each part."""

import re
from collections.abc import Iterable, Iterator, Mapping

from planner.run.readings import FEELS, PARTS, PHASES, WHOLE, Feel, Part, Phase
from planner.trade.refusals import Refusal, quoted

Felt = Mapping[Part, Feel]

# What drivers say, besides the words that are kept.
_FEELS: dict[str, Feel] = {
    **dict.fromkeys(("push", "pushes", "pushing", "pushy", "understeer", "understeers"), "tight"),
    **dict.fromkeys(("free", "oversteer", "oversteers"), "loose"),
    **dict.fromkeys(("balanced", "good", "fine", "ok", "okay"), "neutral"),
    **{feel: feel for feel in FEELS},
}
FEELS_SAID = frozenset(_FEELS)
_PHASES: dict[str, Phase] = {
    **dict.fromkeys(("center", "centre", "mid", "apex"), "middle"),
    **{phase: phase for phase in PHASES},
}
_LESS_SAID: dict[str, Phase] = {"in": "entry", "off": "exit", "out": "exit"}  # "loose off"
_FILLING = frozenset(
    (
        *("a", "again", "at", "bit", "car", "coming", "corner", "feel", "feels", "getting"),
        *(
            "going",
            "he",
            "it",
            "it's",
            "its",
            "is",
            "just",
            "little",
            "now",
            "of",
            "on",
            "real",
            "really",
        ),
        *("says", "she", "slightly", "some", "still", "the", "through", "too", "turn", "very"),
    )
)
_BETWEEN = re.compile(r"\s*(?:[,;&+]|\b(?:and|but|then)\b)[\s,;&+]*", re.IGNORECASE)


def is_felt(text: str) -> bool:
    """Say whether a line is what a driver says, and nothing else."""
    try:
        felt(text, "")
    except Refusal:
        return False
    return True


def feel(text: str, option: str) -> Feel:
    """Read the driver's word, in the driver's words.

    Raises
    ------
    Refusal
        The word is not known.
    """
    known = _FEELS.get(text.strip().lower())
    if known is None:
        raise _none_of(text, FEELS, option)
    return known


def phase(text: str, option: str) -> Phase:
    """Read in which part of the corner: ``entry``, ``in``, ``in the centre``, ``coming off``.

    Raises
    ------
    Refusal
        The word is not known.
    """
    words = text.lower().split()
    said = [_PHASES[word] for word in words if word in _PHASES]
    said = said or [_LESS_SAID[word] for word in words if word in _LESS_SAID]
    if len(set(said)) != 1 or not {*_PHASES, *_LESS_SAID, *_FILLING}.issuperset(words):
        raise _none_of(text, PHASES, option)
    return said[0]


def felt(text: str, option: str) -> dict[Part, Feel]:
    """Read all that the driver says in a line, by the part of the corner he says it of.

    ``loose entry, tight exit``, ``loose in tight off``, ``tight in and off``, ``push``; a part
    may come before its feel (``in loose, off tight``) where a comma or an *and* parts the two.

    Raises
    ------
    Refusal
        A word is not known, or one part is said to feel two ways.
    """
    found: list[Felt] = []
    said: Feel | None = None
    for piece in _pieces(text):
        words = piece.lower().split()
        said = next((_FEELS[word] for word in words if word in _FEELS), said)
        rest = [word for word in words if word not in _FEELS]
        if said is None or (_FILLING.issuperset(rest) and len(rest) == len(words)):
            raise _none_of(piece, FEELS, option)
        part: Part = WHOLE if _FILLING.issuperset(rest) else phase(" ".join(rest), option)
        found.append({part: said})
    if not found:
        raise _none_of(text, FEELS, option)
    return together(found, option)


def together(said: Iterable[Felt], option: str) -> dict[Part, Feel]:
    """Return several sayings as one.

    Raises
    ------
    Refusal
        One part is said to feel two ways.
    """
    found: dict[Part, Feel] = {}
    for part, word in (pair for each in said for pair in each.items()):
        if found.setdefault(part, word) != word:
            raise Refusal(
                "bad-value",
                f"The {'corner' if part == WHOLE else part} is said to feel {found[part]} and "
                f"{word}.",
                where=option,
                hint=f"{option} loose entry, tight exit",
            )
    return {part: found[part] for part in PARTS if part in found}


def spoken(said: Felt) -> str:
    """Return the driver's words as they are typed: ``loose entry, tight exit``."""
    parts = (part for part in PARTS if part in said)
    return ", ".join(said[at] if at == WHOLE else f"{said[at]} {at}" for at in parts)


def _pieces(text: str) -> Iterator[str]:
    """Yield the parts of a line that hold one feel at most."""
    for piece in _BETWEEN.split(text.strip()):
        words = piece.split()
        at = [number for number, word in enumerate(words) if word.lower() in _FEELS]
        if len(at) < 2:
            if words:
                yield piece
            continue
        starts = [0, *at[1:]]
        for start, end in zip(starts, [*starts[1:], len(words)], strict=True):
            yield " ".join(words[start:end])


def _none_of(text: str, words: tuple[str, ...], option: str) -> Refusal:
    return Refusal(
        "bad-value",
        f"{quoted(text)} is not one of {', '.join(words)}.",
        where=option,
        hint=f"{option} {words[0]}",
    )
