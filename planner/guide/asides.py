"""What can be said at any question about what is due, before it is answered."""

import re
from collections.abc import Callable, Mapping
from datetime import datetime
from typing import TypeVar

from planner.advice.candidate import Candidate
from planner.car import car_file, changes
from planner.car.doubts import doubts
from planner.car.known import known
from planner.files import file_name
from planner.guide import amend
from planner.guide.prompts import Aside, Back, Tell
from planner.guide.session import Session
from planner.plan import moves
from planner.plan.amendments import Which
from planner.plan.day import Day
from planner.plan.wrong_entries import Move
from planner.review import car_left
from planner.run import driver, tire_set
from planner.screen import offer_view, paper, topics
from planner.storage import planfile
from planner.trade.refusals import Refusal, quoted
from planner.words import car as car_words
from planner.words import changes as change_words

T = TypeVar("T")

CHANGED = "tell a change made meanwhile: changed RF camber +0.5, changed other: RR shock softer"
NOTE = "keep a note: note gusty in turn 3, or of a step: note 3: gusty, note run 2: gusty"
SET = "say which set of tires went on: set 2 new; beside a run it is that run's"
CAR = "take in a car file, say once it was on the scales: car river-bend.toml"
FIXED = "what nothing turns on this car: fixed LR camber, RR camber"

_ABOUT = re.compile(r"(?:(step|run)\s*)?(\d{1,5})\s*:\s*(.*)", re.IGNORECASE)


def tell(session: Session, words: Mapping[str, str]) -> None:
    """Say what can be typed, and what a question mark and a word open.

    Parameters
    ----------
    words : those of the question itself, and what each does.
    """
    rows = {**words} | ({"amend": amend.TOLD} if session.steps else {})
    if session.day.due == "run":
        rows["changed"] = CHANGED
    rows |= {"note": NOTE, "set": SET, "car": CAR, "fixed": FIXED}
    opens = f"one thing at a time: {', '.join(topics.open_now(session.day))}"
    if session.day.table().candidates:
        opens += "; ? 1 all of way 1, ? why 1 one thing of it"
    rows["? and a word"] = opens
    wide = max(map(len, rows)) + 2
    session.talk.pages(paper.hanging(word, said, wide) for word, said in rows.items())


def _opened(session: Session, asked: str) -> None:
    """Show what a question mark and a word open, of a way where one is named.

    Raises
    ------
    Refusal
        There is no such word or way.
    """
    word, _, named = asked.partition(" ")
    if word.rstrip(".").isdigit():
        word, named = "", word
    one = _way(session, named) if named else None
    found = None if not word else topics.shown(session.day, word.lower(), one)
    if not word and one is not None:
        found = list(offer_view.full(one, session.day))
    if found is None:
        raise Refusal(
            "bad-value",
            f"{quoted(asked)} opens nothing.",
            hint=f"? and one of {', '.join(topics.open_now(session.day))}",
        )
    session.talk.pages(found)


def _way(session: Session, named: str) -> Candidate:
    """Return the way of a number."""
    found = session.day.table().candidates
    for candidate in found:
        if candidate.id == named.strip().rstrip("."):
            return candidate
    ids = ", ".join(candidate.id for candidate in found)
    raise Refusal("no-candidate", f"{quoted(named)} is no way to go on.", hint=ids or "q leaves")


def or_ask(
    session: Session,
    prompt: str,
    read: Callable[[str], T],
    tell: Tell,
    *,
    back: bool = False,
    notes: bool = True,
) -> T:
    """Ask about what is due; one of the words above is seen to first.

    Parameters
    ----------
    notes : the words note and set are among them; not where they are said of a run.

    Raises
    ------
    Aside
        Something else was stored.
    Back
        The crew goes back.
    """
    heard_of: dict[str, Callable[[Session, str], None]]
    heard_of = {"amend": amend.take, "changed": _changed, "car": _car, "fixed": _fixed}
    if notes:
        heard_of |= {"note": _note, "set": _set}

    def heard(answer: str) -> tuple[T, ...]:
        if answer.startswith("?"):
            _opened(session, answer[1:].strip())
            return ()
        word, _, said = answer.partition(" ")
        if word.lower() == "car" and driver.is_felt(said):  # car pushes off: the driver's word
            word, answer = "", said
        aside = heard_of.get(word.lower())
        if aside is None:
            return (read(answer),)
        aside(session, said.strip())
        return ()

    while True:
        answer = session.talk.until(prompt, heard, tell, back=back)
        if answer:
            return answer[0]


def _changed(session: Session, said: str) -> None:
    """Take what was changed on the car without a choice, and why."""
    if session.day.due != "run":
        raise Refusal(
            "not-due",
            "A change is told like this where a run is due.",
            hint="o makes your own change at a choice; at made? type what it came out at",
        )
    if not said:
        raise Refusal("nothing-given", "What was changed is not given.", hint="changed RF camber 1")
    actual = changes.parse_all(said, "")
    moves.changed(session.day, actual, "to try", planfile.now())  # refused before it is asked why
    understood = change_words.listed(changes.make(*each, {}) for each in actual)
    session.talk.hint(f"On the car: {understood}. Why, in a few words? b goes back.")
    _reasoned(session, lambda reason: lambda day, at: moves.changed(day, actual, reason, at))


def _reasoned(session: Session, move: Callable[[str], Move]) -> None:
    """Ask why, and store the move; returns if the crew goes back."""
    try:
        reason = session.talk.reason("why")
    except Back:
        session.talk.say("Back. Nothing was stored.")
        return
    _stored(session, move(reason))


def _note(session: Session, said: str) -> None:
    """Keep a note, of a step where one is named."""
    named = _ABOUT.fullmatch(said)
    kind, number, text = (None, None, said) if named is None else named.groups()

    def move(day: Day, at: datetime) -> Day:
        about = None
        if number is not None:
            which = Which(int(number), is_run=(kind or "").lower() == "run")
            about = which.among(day.plan.step)
        return moves.note(day, text, at, about)

    _stored(session, move)


def _set(session: Session, said: str) -> None:
    """Keep which set of tires went on the car."""
    tires = tire_set.said(said, "set")
    _stored(session, lambda day, at: moves.note(day, f"set {said}", at, tires=tires))


def _car(session: Session, said: str) -> None:
    """Take in a car file."""
    if not said:
        raise Refusal("nothing-given", "Which car file is not given.", hint="car river-bend.toml")
    car = car_file.load(file_name.typed(said, "river-bend.toml"))
    told = known(car, session.day.plan.turns)
    for sentence in () if told is None else car_words.understood(told):
        session.talk.say(sentence)
    for found in doubts(car):
        session.talk.say(car_words.doubt(found))
    _stored(session, lambda day, at: moves.take_car(day, car, at))


def _fixed(session: Session, said: str) -> None:
    """Take in what cannot be turned on this car."""
    if not said:
        raise Refusal(
            "nothing-given", "What cannot be turned is not given.", hint="fixed LR camber"
        )
    car = car_left.with_fixed(session.day, said, "")
    _stored(session, lambda day, at: moves.take_car(day, car, at))


def _stored(session: Session, move: Move) -> None:
    try:
        session.store(move)
    except Refusal as refusal:
        session.talk.refuse(refusal)
        raise Aside from None
    session.talk.say(f"Stored as step {session.steps}.", "bold")
    raise Aside
