"""A good setup for a car and a day, found on the simulated car itself."""

from collections.abc import Mapping

import attrs
import numpy as np
import numpy.typing as npt

from planner.car.changes import Setting, tidy
from planner.car.limits import Limits
from planner.rehearsal import truth
from planner.rehearsal.body import Body
from planner.rehearsal.laps import Conditions
from planner.rehearsal.out_of_band import excesses, middles, off_middle
from planner.rehearsal.world import World
from planner.rulebook.rules import Rulebook
from planner.trade.corners import CORNERS
from planner.trade.figures import Figures
from planner.trade.refusals import Refusal

Array = npt.NDArray[np.float64]

# How far each knob may be turned from the car file's setting: what crews are seen to run. From
# memory.
RANGE: dict[Setting, float] = {
    **{("camber", corner): 2.5 for corner in CORNERS},
    **{("pressure", corner): 5.0 for corner in CORNERS},
    ("cross", "car"): 3.0,
    ("spring", "LF"): 150.0,
    ("spring", "RF"): 150.0,
    ("spring", "LR"): 50.0,
    ("spring", "RR"): 50.0,
    ("bar", "front"): 150.0,
    ("ballast", "rear"): 80.0,
    ("ballast", "left"): 80.0,
    ("stagger", "rear"): 0.75,
    ("panhard", "rear"): 1.0,
}

TRIES = 30  # days drawn before giving up
ROUNDS = 8  # of the search on one day
SMALL = 0.1  # of a knob's range: the step that its effect is measured with
REINS = 0.25  # pull back to the car file's setting, for a knob at its range's end, in half bands
STANDARD = Conditions(90.0, np.full((4, 3), 7.5))  # late morning, tires a few runs old
WHEN = (0.0, 120.0, 240.0)  # min; when the setup must be in band
WEAR_PER_HOUR = 0.6  # 1/32 in, for that: three runs; from memory


def day(
    seed: int, body: Body, limits: Limits, book: Rulebook
) -> tuple[World, dict[Setting, float]]:
    """Draw a day on which the car can be got right, and return it with a good setup.

    Parameters
    ----------
    seed : everything follows from it.
    body : what is bolted together, and where the search begins.
    limits : of the car.
    book : the rules.

    Raises
    ------
    Refusal
        None of the days drawn has a setup in band within the ranges: the rules ask of this car
        what it cannot give.
    """
    chance = np.random.default_rng([seed, 1])
    for _ in range(TRIES):
        world = World(body, truth.draw(chance), book.laps)
        setup = solve(world, limits, book)
        if setup is not None:
            cold = np.array([setup["pressure", corner] for corner in CORNERS])
            return attrs.evolve(world, scaled_with=cold), setup
    raise Refusal(
        "no-good-setup",
        f"No setup of this car stays in the bands of the {book.id} rules; {TRIES} days were tried.",
        where="--car, --rules",
        hint="omit --car or --rules, or look at the settings and sizes in the car file",
    )


def solve(world: World, limits: Limits, book: Rulebook) -> dict[Setting, float] | None:
    """Return a setup whose true figures are in band all day, in whole steps; None if not found.

    Notes
    -----
    Damped Gauss-Newton steps on r = (figure − middle of its band) / half width, of those that
    count (`out_of_band.off_middle`), with the pull
    `REINS` back to where the search began: x += (JᵀJ + W)⁻¹ (Jᵀ(−r) − W x), knobs in units of
    their range, which they may not leave. The Jacobian is measured on the simulated car.
    """
    start = world.body.start
    ranges = {knob: span for knob, span in RANGE.items() if not limits.room(*knob).fixed}
    spans = np.array(list(ranges.values()))

    def setup(turned: Array) -> dict[Setting, float]:
        moved = zip(ranges, turned * spans, strict=True)
        return {**start, **{knob: start[knob] + float(amount) for knob, amount in moved}}

    turned = np.zeros(len(ranges))
    weight = REINS**2 * np.eye(len(ranges))
    for _ in range(ROUNDS):
        tried = [setup(each) for each in (turned, *(turned + SMALL * np.eye(len(ranges))))]
        try:
            figures, *others = world.figures(tried, STANDARD)
        except Refusal:  # a wheel or a spring beyond what there can be
            return None
        off = off_middle(figures, book)
        here = np.array(list(off.values()))
        moved = [distances(each, tuple(off), book) for each in others]
        slopes = np.stack([(each - here) / SMALL for each in moved], axis=1)
        step = np.linalg.solve(slopes.T @ slopes + weight, -slopes.T @ here - weight @ turned)
        turned = np.clip(turned + np.clip(step, -0.5, 0.5), -1.0, 1.0)
        if np.max(np.abs(step)) < 0.01:
            break
    found = in_steps(setup(turned), start, limits, book)
    return found if stays_in_band(world, found, book) else None


def distances(figures: Figures, names: tuple[str, ...], book: Rulebook) -> Array:
    """Return how far these figures are from the middle of their bands, in half widths."""
    bands = middles(book)
    return np.array([(figures[n] - bands[n][0]) / bands[n][1] for n in names])


def in_steps(
    setup: Mapping[Setting, float],
    start: Mapping[Setting, float],
    limits: Limits,
    book: Rulebook,
) -> dict[Setting, float]:
    """Return the setup with every knob moved by whole steps from where it was."""
    whole = {}
    for (knob, place), value in setup.items():
        entry = book.adjustments_of(knob, place)
        room = limits.room(knob, place)
        step = entry[0].step_on(room) if entry else room.step or 0.0
        moved = value - start[knob, place]
        if step and knob != "cross":
            moved = round(moved / step) * step
        whole[knob, place] = tidy(start[knob, place] + moved)
    return whole


def stays_in_band(world: World, setup: Mapping[Setting, float], book: Rulebook) -> bool:
    """Say whether the true figures of a setup are in band from morning to evening."""
    for minutes in WHEN:
        depth = world.truth.rubber.depth - WEAR_PER_HOUR * minutes / 60
        (figures,) = world.figures([setup], Conditions(minutes, np.full((4, 3), depth)))
        if excesses(figures, book):
            return False
    return True
