"""Finding the plan to go on with, or beginning a new one with as few questions as will do."""

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any, TypeVar

import attrs

from planner.car import car_file
from planner.car.car_file import MOST_NAME, Car
from planner.files import file_name
from planner.guide.prompts import BACK, Back, Talk
from planner.rulebook import rules_file
from planner.rulebook.rules import Rulebook
from planner.run import typed
from planner.screen import paper
from planner.storage import plan_folder, plans, starting
from planner.storage.plans import Opened
from planner.storage.starting import NewPlan
from planner.trade.corners import Turns
from planner.trade.numbers import LAPS
from planner.trade.refusals import Refusal, quoted

T = TypeVar("T")

# Refusals that another name for the plan may correct.
_OF_THE_NAME = ("exists", "no-folder", "cannot-write")


def plan(talk: Talk, path: Path | None, wanted: NewPlan) -> Opened:
    """Return the plan to go on with: the one named, one that lies here, or a new one.

    Raises
    ------
    Refusal
        The plan named, or the rules or the car file given, cannot be used.
    """
    if path is not None and path.exists():
        if wanted != NewPlan():
            talk.say("This plan exists: the options for a new plan are ignored.")
        return plans.open_plan(path)
    if path is None:
        found = _unfinished(talk)
        chosen = _pick(talk, found) if found else None
        if chosen is not None:
            return plans.open_plan(chosen.path)
    return _new(talk, path, wanted)


def _unfinished(talk: Talk) -> list[Opened]:
    """Return the plans in this folder in which something is still due, by name."""
    shelf = plan_folder.shelf(Path())
    for path, refusal in shelf.unusable:
        talk.say(f"{path} cannot be used: {refusal.message}")
    found = [opened for opened in shelf.plans if opened.day.due != "nothing"]
    return sorted(found, key=lambda opened: opened.path)


def _in_words(opened: Opened) -> str:
    day = opened.day
    return f"{opened.path}: round {day.round}, {day.stage}, {day.due} due"


def _pick(talk: Talk, found: list[Opened]) -> Opened | None:
    """Ask which plan to go on with; None for a new one."""
    if len(found) == 1:
        talk.say(f"A day is under way: {_in_words(found[0])}.")
        goes_on = talk.yes("Go on with it?", "Enter goes on with it; n begins a new day.")
        return found[0] if goes_on else None
    talk.say("Days under way:")
    for number, opened in enumerate(found, start=1):
        talk.show([paper.hanging(f"{number}.", _in_words(opened), 4)])
    numbered = {str(number): opened for number, opened in enumerate(found, start=1)}

    def read(answer: str) -> Opened | None:
        if answer.lower() == "n":
            return None
        if answer not in numbered:
            raise Refusal(
                "bad-value",
                f"{quoted(answer)} is not on the list.",
                hint=f"1 to {len(found)}, or n for a new day",
            )
        return numbered[answer]

    answers = "A number goes on with that day; n begins a new day; q leaves."
    return talk.until(f"which one [1-{len(found)}, n for a new day]", read, answers)


@attrs.frozen
class _Answers:
    """What a new day is begun with, as far as it is known."""

    name: Path | None
    car: Path | None
    track: str | None
    turns: Turns | None
    laps: int | None

    def from_car(self, book: Rulebook) -> dict[str, Any]:
        """Return what the car file says of these already, so that nobody is asked."""
        found = Car() if self.car is None else car_file.load(self.car)
        said: dict[str, Any] = {}
        if found.track.name:
            said["track"] = found.track.name
        if found.car.turns in book.turns:
            said["turns"] = found.car.turns
        return said


def _new(talk: Talk, path: Path | None, wanted: NewPlan) -> Opened:
    wanted, _, _ = starting.taken_over(wanted)
    book = rules_file.load(rules_file.find(wanted.rules_used))
    if wanted.car is not None:
        car_file.load(wanted.car)
    turns = book.turns[0] if len(book.turns) == 1 else None
    name = None if path is None else _in_a_folder(path)
    answers = _Answers(name, wanted.car, wanted.track, wanted.turns or turns, wanted.laps)
    asking = [key for key in _QUESTIONS if getattr(answers, key) is None]
    if wanted.last is not None:
        asking.remove("car")
    talk.say(f"A new day by the rules: {book.title}.", "bold")
    while True:
        answers = _asked(talk, book, answers, asking)
        assert answers.name is not None
        known = attrs.evolve(
            wanted, car=answers.car, track=answers.track, turns=answers.turns, laps=answers.laps
        )
        try:
            opened = starting.start(answers.name, known)
        except Refusal as refusal:
            if path is not None or refusal.code not in _OF_THE_NAME:
                raise
            talk.refuse(refusal)
            continue
        talk.say(f"{answers.name} is begun. It keeps every answer; q leaves at any time.")
        return opened


def _asked(talk: Talk, book: Rulebook, answers: _Answers, asking: list[str]) -> _Answers:
    """Ask one question after the other; the crew may go back to any but the first.

    What the car file says is not asked.
    """
    at, way = 0, 1
    while at < len(asking):
        key, said = asking[at], answers.from_car(book)
        if key in said:
            answers = attrs.evolve(answers, **{key: said[key]})
        else:
            earlier = [each for each in asking[:at] if each not in said]
            try:
                answer = _QUESTIONS[key](talk, book, answers, bool(earlier))
            except Back:
                way = -1
            else:
                answers, way = attrs.evolve(answers, **{key: answer}), 1
        at += way
    return answers


def _ask(
    talk: Talk, asks: str, usual: str, tell: str, read: Callable[[str], T], *, back: bool
) -> T:
    """Ask for something that has a usual answer.

    Parameters
    ----------
    usual : what Enter stands for, as it would be typed.
    """
    shown = usual or "none"
    return talk.until(
        f"{asks} (Enter = {shown})",
        lambda answer: read(answer or usual),
        f"{tell} Enter takes {shown}.",
        back=back,
    )


def _name(talk: Talk, _: Rulebook, __: _Answers, back: bool) -> Path:
    usual = _free_name(Path(), date.today())

    def read(answer: str) -> Path:
        _no_name(answer)
        path = file_name.typed(answer, usual)
        path = path if path.suffix else path.with_name(f"{path.name}.toml")
        file_name.typed(str(path), usual)
        if path.exists():
            raise Refusal(
                "exists",
                "There is already a file of this name.",
                where=str(path),
                hint=f"Enter for {usual}, or another name",
            )
        return _in_a_folder(path)

    tell = (
        "The file that keeps the day, in this folder unless you give a path; .toml is added to a "
        "bare name. q leaves and begins nothing."
    )
    return _ask(talk, "name of the plan", usual, tell, read, back=back)


def _no_name(answer: str) -> None:
    """Refuse the word to go back where it would be taken for the name of a file."""
    if answer.lower() in BACK:
        raise Refusal(
            "bad-value", "This goes back.", hint=f"Enter, or a name ({answer}.toml if you mean one)"
        )


def _in_a_folder(path: Path) -> Path:
    if not path.parent.is_dir():
        raise Refusal(
            "no-folder", "There is no such folder.", where=str(path.parent), hint="make it first"
        )
    return path


def _free_name(folder: Path, today: date) -> str:
    name, number = f"day-{today:%Y-%m-%d}.toml", 2
    while (folder / name).exists():
        name, number = f"day-{today:%Y-%m-%d}-{number}.toml", number + 1
    return name


def _car(talk: Talk, _: Rulebook, __: _Answers, back: bool) -> Path | None:
    def read(answer: str) -> Path | None:
        _no_name(answer)
        if not answer:
            return None
        path = file_name.typed(answer, "car.toml")
        car_file.load(path)  # says now, not later, what is wrong with it
        return path

    tell = "The path of a file that describes the car."
    return _ask(talk, "car file", "", tell, read, back=back)


def _track(talk: Talk, _: Rulebook, __: _Answers, back: bool) -> str:
    def read(answer: str) -> str:
        if len(answer) > MOST_NAME:
            raise Refusal(
                "too-long",
                f"This name has {len(answer)} letters; at most {MOST_NAME} are shown.",
                hint="a shorter one",
            )
        return answer

    tell = "The name of the track, for the head of every screen and page."
    return _ask(talk, "track", "", tell, read, back=back)


def _turns(talk: Talk, book: Rulebook, _: _Answers, back: bool) -> Turns:
    allowed = book.turns

    def read(answer: str) -> Turns:
        for way in allowed:
            if way.startswith(answer.lower()) or answer.lower().startswith(way):
                return way
        raise Refusal(
            "bad-value",
            f"{quoted(answer)} is not {' or '.join(allowed)}.",
            hint=", ".join(allowed),
        )

    tell = (
        f"The way the car turns on this track: {', '.join(allowed)}, or the first letter. It "
        "decides which tires are outside."
    )
    asks = f"which way does the track turn, {'/'.join(allowed)}"
    return _ask(talk, asks, allowed[0], tell, read, back=back)


def _laps(talk: Talk, book: Rulebook, _: _Answers, back: bool) -> int:
    def read(answer: str) -> int:
        laps = typed.number(answer, "laps", str(book.laps))
        if laps != int(laps) or not LAPS.holds(laps):
            raise Refusal(
                "bad-value",
                f"{quoted(answer)} is not a number of laps.",
                hint=f"for example {book.laps}",
            )
        return int(laps)

    tell = "Laps driven before the tires are read: a whole number, the same all day."
    return _ask(talk, "laps a run", str(book.laps), tell, read, back=back)


_QUESTIONS: dict[str, Callable[[Talk, Rulebook, _Answers, bool], Any]] = {
    "name": _name,
    "car": _car,
    "track": _track,
    "turns": _turns,
    "laps": _laps,
}
