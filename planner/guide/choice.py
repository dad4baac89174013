"""The choice: a candidate, another amount of it, the crew's own change, or moving on."""

import re
from collections.abc import Callable, Sequence

from rich.console import RenderableType

from planner.advice.candidate import Candidate
from planner.car import changes
from planner.guide import asides, preview
from planner.guide.prompts import BACK, Back, yes
from planner.guide.session import Session
from planner.plan import moves
from planner.plan.wrong_entries import Move
from planner.run import driver
from planner.screen import paper
from planner.storage import planfile
from planner.trade import knobs
from planner.trade.refusals import Refusal, quoted
from planner.words import changes as change_words

_TAKE = re.compile(r"^(?:take|number|no\.|#)\s*(?=\d)", re.IGNORECASE)
_POUNDS = re.compile(r"\d\s*(?:lbs?|pounds?)\b", re.IGNORECASE)
_TRIMS = "Enter takes the trims with the change; n takes the change alone; b goes back."


class GoAgain(Exception):
    """The crew would rather run again, with nothing changed, than choose."""


class _Left(Exception):
    """The crew leaves an offer where it is and goes on to the run."""


def take(session: Session) -> None:
    """Show what the tires say and what could be done, and store the crew's choice.

    Raises
    ------
    GoAgain
        The crew runs again first.
    """
    found = session.day.table().candidates
    nothing = () if found else ["The rules offer nothing here: make your own change, or move on."]
    below: list[RenderableType] = [*nothing, paper.hint(_answers(found))]
    session.look(below)
    session.talk.show(below)
    more = [*("a" if _singles(found) else ""), *("?" if found else "")]
    prompt = "choice [" + "/".join([*(c.id for c in found), *more, "o/m/r]"])

    _settle(session, prompt, found, lambda answer: _move(session, answer, found))


def offer(session: Session) -> bool:
    """Show what lies on the table though nothing is out of band; say whether it was taken."""
    found = session.day.table().candidates
    answers = "a number takes it; ? tells more; Enter leaves it and goes on to the run"
    below: list[RenderableType] = [
        "No temperature is out of band: take this one or leave it.",
        paper.hint(answers),
    ]
    session.look(below)
    session.talk.show(below)
    prompt = "take or leave [" + "/".join([*(c.id for c in found), "?", "Enter]"])

    def read(answer: str) -> Move:
        if not answer:
            raise _Left
        return _taking(_picked(answer, found, answers))

    try:
        _settle(session, prompt, found, read)
    except _Left:
        return False
    return True


def _settle(
    session: Session,
    prompt: str,
    found: Sequence[Candidate],
    read: Callable[[str], Move],
) -> None:
    """Ask about what is offered until a choice is stored."""

    words = {
        "o": "your own change, such as o RF pressure -1; o ? lists the knobs",
        "m": "moves on and leaves this as it is; you are asked why",
        "r": "runs the car once more as it is",
        "q": "leaves; the choice stays due",
    }
    if _singles(found):
        words = {"a": "another amount of a way, such as a 1 0.5"} | words

    def tell() -> None:
        asides.tell(session, words)

    def ask() -> Move | None:
        return preview.if_confirmed(session, asides.or_ask(session, prompt, read, tell))

    def back() -> bool:
        session.talk.say("Back to the choice.")
        return False

    session.settle(ask, back)


def move_on(session: Session) -> None:
    """Ask why, and leave the stage, or the confirming run, as it is."""
    try:
        move = _moving_on(session)
    except Back:
        return
    if preview.if_confirmed(session, move):
        session.store(move)


def _singles(found: Sequence[Candidate]) -> list[Candidate]:
    """Return the candidates that are one change, trims aside: those can be resized."""
    return [each for each in found if sum(not change.trim for change in each.changes) == 1]


def _answers(found: Sequence[Candidate]) -> str:
    """Say what can be typed at the choice."""
    said = [
        "o your own",
        "r again",
        "m moves on",
        "q leaves",
    ]
    if found:
        numbers = {1: "1", 2: "1 or 2"}.get(len(found), f"1 to {len(found)}")
        resized = ["a another amount"] if _singles(found) else []
        said[:0] = [f"{numbers} takes it", *resized, "? more"]
    return "; ".join(said)


def _move(session: Session, answer: str, found: Sequence[Candidate]) -> Move:
    """Return the move an answer asks for."""
    answer = _TAKE.sub("", answer)
    word, _, rest = answer.partition(" ")
    if word.lower() in ("o", "own"):
        return _own(session, rest)
    if word.lower() == "m":
        return _moving_on(session)
    if answer.lower() in ("r", "run", "again"):
        raise GoAgain
    if word.lower() == "a":
        return _another_amount(session, rest.split(), found)
    if rest and word in {each.id for each in found}:
        return _another_amount(session, answer.split(), found)
    if _is_own(answer):
        return _own(session, answer)
    chosen = _picked(answer, found, _answers(found))
    if any(change.trim for change in chosen.changes):
        trims = session.talk.until("With the riding trims? [Y/n]", yes, _TRIMS, back=True)
        return _taking(chosen, trims=trims)
    return _taking(chosen)


def _is_own(answer: str) -> bool:
    """Say whether an answer is a change of the crew's own, told without its letter.

    Raises
    ------
    Refusal
        It names a knob and no amount, or it is the driver's word, which belongs to the run.
    """
    if driver.is_felt(answer):
        raise Refusal(
            "bad-value",
            "The driver's word belongs to the run.",
            hint=f"amend feel {answer}: it is put to the last run",
        )
    words = re.split(r"[\s:=,]+", answer.lower())
    if any(word in knobs.KNOBS or word in knobs.CALLED for word in words):
        if any(letter.isdigit() for letter in answer):
            return True
        raise Refusal(
            "bad-value", f"{quoted(answer)}, by how much?", hint=f"o {answer} +0.5, your own change"
        )
    try:
        changes.parse_all(answer, "")
    except Refusal:
        if _POUNDS.search(answer):
            raise
        return False
    return True


def _taking(chosen: Candidate, *, amount: float | None = None, trims: bool = True) -> Move:
    return lambda day, at: moves.choose(day, chosen.id, at, amount=amount, trims=trims)


def _picked(answer: str, found: Sequence[Candidate], answers: str) -> Candidate:
    wanted = answer.strip().rstrip(".")
    for candidate in found:
        if candidate.id == wanted:
            return candidate
    said = f"{quoted(wanted)} is not an answer here." if wanted else "Give an answer."
    raise Refusal("no-candidate", said, hint=answers)


def _which(session: Session, found: Sequence[Candidate]) -> list[str]:
    """Return the number of a way, and what is typed behind it."""
    if len(found) < 2:
        return [found[0].id if found else ""]
    answers = f"one of {', '.join(candidate.id for candidate in found)}; b goes back to the choice"

    def read(answer: str) -> list[str]:
        number, *amount = answer.split() or [""]
        return [_picked(number, found, answers).id, *amount]

    return session.talk.until("which one", read, answers, back=True)


def _another_amount(session: Session, typed: list[str], found: Sequence[Candidate]) -> Move:
    singles = _singles(found)
    if typed and len(singles) == 1 and typed[0] not in {each.id for each in found}:
        typed = [singles[0].id, *typed]  # the amount alone says enough
    typed = typed or _which(session, singles)
    wanted = typed[0]
    if not singles or wanted in {c.id for c in found if c not in singles}:
        raise Refusal(
            "bad-value",
            "Only a single change can be resized"
            + ("; this is a bundle." if found else ", and none is offered here."),
            hint="o makes your own change: each part with its own amount",
        )
    chosen = _picked(wanted, found, ", ".join(candidate.id for candidate in singles))
    (change,) = (each for each in chosen.changes if not each.trim)
    usual = knobs.shown(change.knob, change.amount)
    if len(typed) > 1:
        amount = changes.amount_like(" ".join(typed[1:]), "amount", change)
    else:
        amount = session.talk.until(
            f"{change_words.named(change.setting)}: how much instead of {usual}",
            lambda answer: changes.amount_like(answer, "amount", change),
            f"The amount, such as {knobs.as_typed(change.knob, change.amount / 2)}; without a sign "
            "it goes the same way. b goes back.",
            back=True,
        )
    return _taking(chosen, amount=amount)


def _own(session: Session, typed: str) -> Move:
    """Return the crew's own change; raises `Back` if it goes back to the choice."""
    if typed == "?":
        _list_knobs(session)
    if typed in ("", "?"):
        session.talk.hint(
            "For example RF pressure -1.0; several on a line. Knobs: "
            + ", ".join(f"{knob.name} ({knob.unit})" for knob in knobs.KNOBS.values())
            + ". ? shows where each is and what + means; Enter goes back to the choice."
        )
        wanted = session.talk.until(
            "your own change",
            lambda answer: _own_or_back(session, answer),
            lambda: _list_knobs(session),
        )
    else:
        wanted = _tried(session, own_changes(typed))
    understood = change_words.listed(changes.make(*each, {}) for each in wanted)
    session.talk.hint(f"Understood: {understood}. Why, in a few words? b goes back.")
    reason = session.talk.reason("why")
    return lambda day, at: moves.choose_own(day, wanted, reason, at)


def _own_or_back(session: Session, answer: str) -> list[tuple[str, str, float]]:
    if answer.lower() in ("", "n", "no", *BACK):
        raise Back
    return _tried(session, own_changes(answer))


def _tried(session: Session, wanted: list[tuple[str, str, float]]) -> list[tuple[str, str, float]]:
    """Return a change that can be chosen; refuse one that cannot before anybody is asked why."""
    moves.choose_own(session.day, wanted, "to try", planfile.now())
    return wanted


def _list_knobs(session: Session) -> None:
    rows = [
        paper.hanging(
            knob.name,
            f"at {', '.join(knob.places)}, in {knob.unit}; + is "
            + " or ".join(dict.fromkeys(knob.more.format(place=place) for place in knob.places)),
            10,
        )
        for knob in knobs.KNOBS.values()
    ]
    rows.append(
        paper.hanging("by hand", "LR jack 3 turns in (cross weight); panhard rear 1 hole up", 10)
    )
    rows.append(paper.hanging("other:", "anything else: other: RR shock 2 clicks softer", 10))
    session.talk.show(rows)


def own_changes(text: str) -> list[tuple[str, str, float]]:
    """Read one change or several, as `changes.parse_all` does."""
    if not text:
        raise Refusal("bad-value", "No change is given.", hint="for example RF pressure -1.0")
    return changes.parse_all(text, "")


def _moving_on(session: Session) -> Move:
    reason = session.talk.reason("why move on")
    return lambda day, at: moves.move_on(day, reason, at)
