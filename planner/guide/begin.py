"""Finding the plan to go on with, or beginning a new one with as few questions as will do."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import attrs

from planner.car import car_file
from planner.files import file_name, toml_files
from planner.guide.prompts import BACK, Back, Talk
from planner.rulebook import rules_file
from planner.rulebook.rules import Rulebook
from planner.run import typed
from planner.screen import paper
from planner.storage import plans, starting
from planner.storage.plans import Opened
from planner.storage.starting import NewPlan
from planner.trade.corners import Turns
from planner.trade.numbers import LAPS
from planner.trade.refusals import Refusal, quoted

# Refusals that another name for the plan may put right.
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
            talk.say("This plan is there already: options for a new plan are left aside.")
        return plans.open_plan(path)
    if path is None:
        found = _unfinished(talk, Path())
        chosen = _pick(talk, found) if found else None
        if chosen is not None:
            return chosen
    return _new(talk, path, wanted)


def _unfinished(talk: Talk, folder: Path) -> list[Opened]:
    """Return the plans in the folder that something is still due in, by name."""
    found = []
    for path in sorted(folder.glob("*.toml")):
        if not _looks_like_plan(path):
            continue
        try:
            opened = plans.open_plan(path)
        except Refusal as refusal:
            talk.say(f"{path} cannot be used: {refusal.message}")
            continue
        if opened.day.due != "nothing":
            found.append(opened)
    return found


def _looks_like_plan(path: Path) -> bool:
    try:
        data = toml_files.read_toml(path, "plan")
    except Refusal:
        return False
    return "format" in data and isinstance(data.get("rules"), dict)


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
                f"{quoted(answer)} is none of them.",
                hint=f"1 to {len(found)}, or n for a new day",
            )
        return numbered[answer]

    answers = "The number of one goes on with that; n begins a new day; q leaves."
    return talk.until(f"which one [1-{len(found)}, n for a new day]", read, answers)


@attrs.frozen
class _Answers:
    """What a new day is begun with, as far as it is known."""

    name: Path | None
    wanted: NewPlan


def _new(talk: Talk, path: Path | None, wanted: NewPlan) -> Opened:
    book = rules_file.load(rules_file.find(wanted.rules))
    if wanted.car is not None:
        car_file.load(wanted.car)
    if wanted.turns is None and len(book.turns) == 1:
        wanted = attrs.evolve(wanted, turns=book.turns[0])
    talk.say(f"A new day by the rules: {book.title}.", "bold")
    answers = _Answers(None if path is None else _in_a_folder(path), wanted)
    asking = _questions(answers)
    while True:
        answers = _asked(talk, book, answers, asking)
        assert answers.name is not None
        try:
            opened = starting.start(answers.name, answers.wanted)
        except Refusal as refusal:
            if path is not None or refusal.code not in _OF_THE_NAME:
                raise
            talk.refuse(refusal)
            continue
        talk.say(f"{answers.name} is begun. Every answer is kept there; q leaves at any time.")
        return opened


_Question = Callable[[Talk, Rulebook, _Answers, bool], _Answers]


def _questions(given: _Answers) -> list[_Question]:
    """Return what is to be asked: what is not given."""
    wanted = given.wanted
    needed = {
        _name: given.name is None,
        _car: wanted.car is None,
        _turns: wanted.turns is None,
        _laps: wanted.laps is None,
    }
    return [question for question, is_asked in needed.items() if is_asked]


def _asked(talk: Talk, book: Rulebook, answers: _Answers, asking: list[_Question]) -> _Answers:
    """Ask one question after the other; the crew may go back to any but the first."""
    at = 0
    while at < len(asking):
        try:
            answers = asking[at](talk, book, answers, at > 0)
        except Back:
            at -= 1
        else:
            at += 1
    return answers


def _name(talk: Talk, _: Rulebook, answers: _Answers, back: bool) -> _Answers:
    usual = _free_name(Path(), date.today())

    def read(answer: str) -> Path:
        _no_name(answer)
        path = file_name.typed(answer or usual, usual)
        path = path if path.suffix else path.with_name(f"{path.name}.toml")
        file_name.typed(str(path), usual)
        if path.exists():
            raise Refusal(
                "exists",
                "There is a file of this name already.",
                where=str(path),
                hint=f"Enter for {usual}, or another name",
            )
        return _in_a_folder(path)

    tell = (
        "The file that keeps the day, in this folder unless a path is given; .toml is added to a "
        f"bare name. Enter takes {usual}; q leaves and nothing is begun."
    )
    named = talk.until(f"name of the plan (Enter = {usual})", read, tell, back=back)
    return attrs.evolve(answers, name=named)


def _no_name(answer: str) -> None:
    """Refuse the word to go back where it would be taken for the name of a file."""
    if answer.lower() in BACK:
        raise Refusal(
            "bad-value", "This goes back.", hint=f"Enter, or a name ({answer}.toml if one is meant)"
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


def _car(talk: Talk, _: Rulebook, answers: _Answers, back: bool) -> _Answers:
    def read(answer: str) -> Path | None:
        _no_name(answer)
        if not answer:
            return None
        path = file_name.typed(answer, "car.toml")
        car_file.load(path)  # says now, not later, what is wrong with it
        return path

    tell = "The path of a file that describes the car; Enter goes without."
    found = talk.until("car file (Enter = none)", read, tell, back=back)
    return attrs.evolve(answers, wanted=attrs.evolve(answers.wanted, car=found))


def _turns(talk: Talk, book: Rulebook, answers: _Answers, back: bool) -> _Answers:
    path, allowed = answers.wanted.car, book.turns
    of_car = None if path is None else car_file.load(path).car.turns
    usual = of_car if of_car in allowed else allowed[0]
    assert usual is not None

    def read(answer: str) -> Turns:
        for way in allowed:
            if answer and way.startswith(answer.lower()):
                return way
        if answer:
            raise Refusal(
                "bad-value",
                f"{quoted(answer)} is not {' or '.join(allowed)}.",
                hint=", ".join(allowed),
            )
        return usual

    tell = (
        f"The way the car turns on this track: {', '.join(allowed)}, or the first letter. It "
        f"decides which tires are outside. Enter takes {usual}."
    )
    prompt = f"which way does the track turn, {'/'.join(allowed)} (Enter = {usual})"
    way = talk.until(prompt, read, tell, back=back)
    return attrs.evolve(answers, wanted=attrs.evolve(answers.wanted, turns=way))


def _laps(talk: Talk, book: Rulebook, answers: _Answers, back: bool) -> _Answers:
    def read(answer: str) -> int:
        if not answer:
            return book.laps
        laps = typed.number(answer, "laps", str(book.laps))
        if laps != int(laps) or not LAPS.holds(laps):
            raise Refusal(
                "bad-value", f"{quoted(answer)} laps cannot be.", hint=f"for example {book.laps}"
            )
        return int(laps)

    tell = (
        "How many laps are driven each time before the tires are read, a whole number, the same "
        f"all day. Enter takes {book.laps}."
    )
    laps = talk.until(f"laps a run (Enter = {book.laps})", read, tell, back=back)
    return attrs.evolve(answers, wanted=attrs.evolve(answers.wanted, laps=laps))
