"""Trims: small changes that may ride along with a stage's own change and save a run.

A trim is a tire's own camber or pressure, moved a step or two: beside the same change at another
tire, where this one may well be out of band too; or, where its answer is already well known,
beside a change of a later stage that it does not blur. It rides along in the stage its knob
belongs to, or a later one.
"""

from collections.abc import Mapping

import attrs

from planner.advice.outlook import TIRE_KNOBS, Outlook
from planner.car import changes as changing
from planner.car.changes import Change, Setting
from planner.car.limits import Limits
from planner.rulebook import aims as aiming
from planner.rulebook.aims import Aim
from planner.rulebook.rules import TUNING_ORDER, Rulebook, TuningStage, Way
from planner.trade.corners import CORNERS, REAR
from planner.trade.knobs import Room

WELL_KNOWN = 0.45  # spread of the answer over its mean; from memory
LIKELY_OUT = 0.2  # chance of being out that makes another tire of the stage worth the work
MOST_STEPS = 2
LEAST_GAIN = 0.1  # degF of expected excess that a trim must take away; less is not worth a turn
BLUR = 1.0  # degF that a trim may move a figure under test


@attrs.frozen
class Trim:
    """A change that rides along, the pattern it aims at, and the minutes it takes."""

    change: Change
    pattern: str
    minutes: float


def riding(
    stage: TuningStage,
    own: Mapping[Setting, float],
    under_test: tuple[str, ...],
    outlook: Outlook,
    settings: Mapping[Setting, float],
    limits: Limits,
    *,
    others: bool = False,
) -> tuple[Trim, ...]:
    """Return the trims that may ride along with a change.

    Parameters
    ----------
    stage : the stage the change belongs to.
    own : the change itself, by setting.
    under_test : the figures that the change aims at.
    outlook : what is known of the car.
    settings, limits : what is on the car, and how far it may go.
    others : whether the change's own knob may ride along at other tires of its stage.
    """
    found = []
    for belongs, knob in TIRE_KNOBS.items():
        same = belongs == stage
        if TUNING_ORDER.index(belongs) > TUNING_ORDER.index(stage):
            continue
        if same and not (others and any(turned == knob for turned, _ in own)):
            continue
        for corner, aim in aiming.at_corners(belongs, knob, outlook.book).items():
            setting, room = (knob, str(corner)), limits.room(knob, corner)
            if (
                room.fixed
                or setting in own
                or (knob == "pressure" and corner in REAR and _turns_stagger(own))
            ):
                continue  # a rear tire that grows or shrinks takes stagger in or out
            if not (_leans_out(aim, outlook) if same else _well_known(setting, aim, outlook)):
                continue
            step, most, minutes = _steps(knob, outlook.book, room)
            wanted = outlook.best_amount(aim, setting, step, most)
            now = settings.get(setting)
            amount, _ = changing.within(knob, wanted, now, room, step)
            if amount == 0 or not _worth_it({setting: amount}, under_test, outlook):
                continue
            change = changing.make(knob, corner, amount, settings, trim=True)
            way: Way = "+" if amount > 0 else "-"
            answers = aiming.at_corners(belongs, knob, outlook.book, way).get(corner, aim)
            found.append(Trim(change, answers.pattern, minutes))
    return tuple(found)


def _turns_stagger(own: Mapping[Setting, float]) -> bool:
    return any(knob == "stagger" for knob, _ in own)


def _steps(knob: str, book: Rulebook, room: Room) -> tuple[float, float, float]:
    """Return smallest step, most in one trim, and minutes."""
    (entry, *_) = book.adjustments_of(knob, CORNERS[0])
    step = entry.step_on(room)
    return step, MOST_STEPS * step, entry.minutes


def _leans_out(aim: Aim, outlook: Outlook) -> bool:
    """Whether the tire may well be out of band."""
    return outlook.chance(aim.figures, {}) < 1 - LIKELY_OUT


def _well_known(setting: Setting, aim: Aim, outlook: Outlook) -> bool:
    """Whether the car itself has answered this knob, and clearly enough."""
    known = outlook.known
    if (setting, aim.figures[0]) not in known.learned():
        return False
    answer = known.sensitivity(setting, aim.figures[0])
    return answer.sd < WELL_KNOWN * abs(answer.mean)


def _worth_it(
    moves: Mapping[Setting, float], under_test: tuple[str, ...], outlook: Outlook
) -> bool:
    here, there = outlook.after(under_test, {}), outlook.after(under_test, moves)
    if any(abs(there[name].mean - here[name].mean) > BLUR for name in under_test):
        return False
    return outlook.expected_excess({}) - outlook.expected_excess(moves) > LEAST_GAIN
