"""A new plan: its rules, its car, and what an earlier day has taught."""

from collections.abc import Mapping
from datetime import date
from pathlib import Path

import attrs

from planner.car import car_file
from planner.car.car_file import MOST_NAME, Car
from planner.car.changes import Setting
from planner.car.doubts import doubts
from planner.plan.fold import replay
from planner.plan.steps import Budget, Plan, RulesUsed
from planner.rulebook import rules_file
from planner.rulebook.mirrored import for_turns
from planner.rulebook.own_bands import Own
from planner.rulebook.rules import Rulebook
from planner.storage import planfile, saving
from planner.storage.planfile import Kept
from planner.storage.plans import Opened
from planner.trade.corners import CORNERS, Turns
from planner.trade.estimate import Estimate
from planner.trade.numbers import CERTAINTY, LAPS, USUAL_CERTAINTY, Number
from planner.trade.refusals import Refusal, Unusable, quoted
from planner.trade.units import System
from planner.words import car as car_words


@attrs.frozen
class NewPlan:
    """What a new plan is made with; None where the car file or the rules decide.

    Attributes
    ----------
    rules : id of the rules, or a file.
    car, taught : files to read.
    certainty : chance of being in band at which a figure stops holding its stage.
    budget : what there is for the day.
    one_change : the crew makes one change at a stop.
    """

    rules: str = "paved-oval"
    car: Path | None = None
    laps: int | None = None
    track: str | None = None
    units: System = "us"
    turns: Turns | None = None
    certainty: float | None = None
    budget: Budget = Budget()
    taught: Path | None = None
    one_change: bool = False


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
    rules_path = rules_file.find(wanted.rules)
    book = rules_file.load(rules_path)
    if car is None:
        car = Car() if wanted.car is None else car_file.load(wanted.car)
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
    remarks = tuple(car_words.doubt(found) for found in doubts(car))
    taught: Mapping[str, Mapping[str, Estimate]] = {}
    own: Mapping[str, Own] = {}
    if wanted.taught is not None:
        taught, own, said = _taught(wanted.taught, book, way, car.car.name)
        remarks += said
    own_file = "" if wanted.rules in rules_file.BUNDLED else str(rules_path.resolve())
    plan = Plan(
        created=planfile.now(),
        rules=RulesUsed(book.id, book.fingerprint, own_file),
        turns=way,
        laps=laps,
        least_laps=book.least_laps,
        units=wanted.units,
        track=wanted.track or car.track.name,
        car=car,
        certainty=certainty,
        budget=wanted.budget,
        one_change=wanted.one_change,
        taught=taught,
        in_balance=own,
    )
    mark = saving.create(path, plan)
    return Opened(path, replay(plan, for_turns(book, way)), remarks, Kept(plan, mark))


def _refuse_beyond(number: Number, value: float, said: str) -> None:
    if not number.holds(value):
        option = f"--{number.name}"
        raise Refusal("bad-value", said, where=option, hint=f"{option} {number.example}")


def _taught(
    path: Path, book: Rulebook, way: Turns, name: str
) -> tuple[dict[str, Mapping[str, Estimate]], Mapping[str, Own], tuple[str, ...]]:
    """Return what an earlier day has taught, as the plan keeps it, and what to say of it.

    Parameters
    ----------
    way, name : of today's track and car.
    """
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
    if found.car and name and found.car != name:
        theirs, ours = (quoted(each, MOST_NAME) for each in (found.car, name))
        remarks = (f"{path} was learned on another car: {theirs}; this plan is for {ours}.",)
    effects = taught.effects(found, date.today())
    entries = book.adjustment.values()
    known: set[Setting] = {(entry.knob, entry.corner) for entry in entries}
    known |= {(entry.knob, corner) for entry in entries for corner in CORNERS}
    own = {name: each.as_earlier for name, each in found.in_balance.items()}
    return {f"{s[0]}.{s[1]}": each for s, each in effects.items() if s in known}, own, remarks
