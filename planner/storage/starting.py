"""A new plan: its rules, its car, and what earlier days have taught."""

from datetime import datetime
from pathlib import Path

import attrs

from planner.car import car_file
from planner.car.car_file import MOST_NAME, Car
from planner.car.doubts import doubts
from planner.plan import memory
from planner.plan.fold import replay
from planner.plan.memory import Memory
from planner.plan.steps import Budget, Plan, RulesUsed
from planner.review import car_left
from planner.rulebook import rules_file
from planner.rulebook.mirrored import for_turns
from planner.rulebook.rules import Rulebook
from planner.storage import earlier_days, planfile, saving
from planner.storage.planfile import Kept
from planner.storage.plans import Opened, open_plan
from planner.trade.corners import Turns
from planner.trade.numbers import CERTAINTY, LAPS, USUAL_CERTAINTY, Number
from planner.trade.refusals import Refusal, Unusable, quoted
from planner.trade.units import System
from planner.words import car as car_words
from planner.words import season as season_words


@attrs.frozen
class NewPlan:
    """What a new plan is made with; None where the car file or the rules decide.

    Attributes
    ----------
    rules : id of the rules, or a file.
    car, taught : files to read.
    last : an earlier plan, whose car is taken as it was left, with what it was run by.
    from_scratch : look for no earlier days of the car.
    certainty : chance of being in band at which a figure stops holding its stage.
    budget : what there is for the day.
    one_change : the crew makes one change at a stop.
    """

    rules: str | None = None
    car: Path | None = None
    laps: int | None = None
    track: str | None = None
    units: System | None = None
    turns: Turns | None = None
    certainty: float | None = None
    budget: Budget = Budget()
    taught: Path | None = None
    one_change: bool = False
    last: Path | None = None
    from_scratch: bool = False

    @property
    def rules_used(self) -> str:
        """The rules, where neither the crew nor an earlier plan says so."""
        return "paved-oval" if self.rules is None else self.rules


def start(path: Path, wanted: NewPlan = NewPlan(), car: Car | None = None) -> Opened:
    """Make a new plan file.

    Parameters
    ----------
    path : of the plan file.
    wanted : what it is made with.
    car : the car, where it comes from no file.

    Raises
    ------
    Refusal
        The file is there already, or rules, car, lesson, laps and turns do not go
        together.
    Unusable
        The rules file has mistakes.
    """
    wanted, left, remarks = taken_over(wanted)
    rules_path = rules_file.find(wanted.rules_used)
    book = rules_file.load(rules_path)
    if car is None:
        car = left or (Car() if wanted.car is None else car_file.load(wanted.car))
    way = wanted.turns or car.car.turns or book.turns[0]
    if way not in book.turns:
        raise Refusal(
            "bad-value",
            f"The {book.id} rules are for tracks that turn {' or '.join(book.turns)}, not {way}.",
            where="--turns" if wanted.turns else "car.turns",
            hint=f"--turns {book.turns[0]}, or other rules",
        )
    if way != (car.car.turns or "left"):  # the plan's copy of the car says which side is outside
        car = attrs.evolve(car, car=attrs.evolve(car.car, turns=way))
    laps = book.laps if wanted.laps is None else wanted.laps
    certainty = USUAL_CERTAINTY if wanted.certainty is None else wanted.certainty
    _refuse_beyond(LAPS, laps, f"{laps} laps is not possible.")
    _refuse_beyond(CERTAINTY, certainty, f"A certainty of {certainty:g} is not possible.")
    remarks += tuple(car_words.doubt(found) for found in doubts(car))
    created = planfile.now()
    track = wanted.track or car.track.name
    known, said = _remembered(
        path,
        wanted,
        attrs.evolve(car, track=attrs.evolve(car.track, name=track)),
        book,
        way,
        created,
    )
    own_file = "" if wanted.rules_used in rules_file.BUNDLED else str(rules_path.resolve())
    plan = Plan(
        created=created,
        rules=RulesUsed(book.id, book.fingerprint, own_file),
        turns=way,
        laps=laps,
        least_laps=book.least_laps,
        units=wanted.units or "us",
        track=track,
        car=car,
        certainty=certainty,
        budget=wanted.budget,
        one_change=wanted.one_change,
        taught=known.told,
        usual=known.usual,
        in_balance=known.own,
    )
    mark = saving.create(path, plan)
    day = replay(plan, for_turns(book, way))
    return Opened(path, day, (*remarks, *said), Kept(plan, mark))


def taken_over(wanted: NewPlan) -> tuple[NewPlan, Car | None, tuple[str, ...]]:
    """Return what is wanted with what an earlier plan fills in, its car, and what to say of that.

    Raises
    ------
    Refusal, Unusable
        There is no such plan, it cannot be used, or a car file is given as well.
    """
    if wanted.last is None:
        return wanted, None, ()
    if wanted.car is not None:
        raise Refusal(
            "usage", "--from takes over the car too.", where="--car", hint="--from or --car alone"
        )
    try:
        day = open_plan(wanted.last).day
    except Refusal as error:
        hint = "an earlier plan; treadgate days lists those of a folder"
        where = f"--from {wanted.last}"
        raise type(error)(error.code, error.message, where=where, hint=hint) from None
    car, remarks = car_left.as_it_stands(day)
    plan = day.plan
    filled = attrs.evolve(
        wanted,
        rules=(plan.rules.file or plan.rules.id) if wanted.rules is None else wanted.rules,
        units=wanted.units or plan.units,
        turns=wanted.turns or plan.turns,
        track=wanted.track or plan.track or None,
        laps=wanted.laps or plan.laps,
    )
    return filled, car, (f"The car as {wanted.last.name} left it.", *remarks)


def _refuse_beyond(number: Number, value: float, said: str) -> None:
    if not number.holds(value):
        option = f"--{number.name}"
        raise Refusal("bad-value", said, where=option, hint=f"{option} {number.example}")


def _remembered(
    path: Path, wanted: NewPlan, car: Car, book: Rulebook, way: Turns, now: datetime
) -> tuple[Memory, tuple[str, ...]]:
    """Return what earlier days say of the new one, and what to say of that.

    Parameters
    ----------
    car : with the name of today's track.
    way : today's track turns.
    """
    if wanted.taught is not None:
        return _taught(wanted.taught, car, book, way, now)
    if wanted.from_scratch or not car.car.known_by:
        return Memory(), ()
    folder = path.parent if wanted.last is None else wanted.last.parent
    found = earlier_days.of(folder, car, way, now)
    known = memory.of_days(found.days, car, car.track.name, now.date())
    says = season_words.remembered(known, car.car.name or car.car.id)
    return known, (*found.skipped, *([says] if says else []))


def _taught(
    path: Path, car: Car, book: Rulebook, way: Turns, now: datetime
) -> tuple[Memory, tuple[str, ...]]:
    """Return what an earlier day has taught, as its file has it, and what to say of it."""
    from planner.learning import taught

    try:
        found = taught.read(path)
    except Unusable as error:
        raise Refusal(error.code, error.message, where=error.where, hint=error.hint) from None
    if found.turns != way:
        ways = [f"turns {'both ways' if each == 'both' else each}" for each in (found.turns, way)]
        raise Refusal(
            "bad-value",
            f"This was learned on a track that {ways[0]}; the track of this plan {ways[1]}.",
            where=f"--taught {path}, turns",
            hint=f"start without it; or --turns {found.turns}, if that is the way it turns",
        )
    remarks: tuple[str, ...] = ()
    name = car.car.name
    if found.car and name and found.car != name:
        theirs, ours = (quoted(each, MOST_NAME) for each in (found.car, name))
        remarks = (f"{path} was learned on another car: {theirs}; this plan is for {ours}.",)
    known = memory.of_file(found, car, for_turns(book, way), now.date())
    return known, remarks
