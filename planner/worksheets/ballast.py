"""Moved ballast: loads, percentages, height of the centre of gravity, load transfer per g."""

from collections.abc import Mapping

from planner.chassis import ballast
from planner.chassis.at_rest import EQUALLY_STIFF, AtRest
from planner.chassis.ballast import BallastMove
from planner.chassis.weights import weigh
from planner.trade.cautions import CAUTIONS
from planner.trade.corners import Corner, per_corner
from planner.trade.refusals import Refusal
from planner.worksheets.inputs import Calculator, Known
from planner.worksheets.stand import SPRINGS, suspension_of
from planner.worksheets.weights import PERCENTAGES
from planner.worksheets.worksheet import Line, Part, Worksheet, rows

_MOMENTS = (
    "Moments: the rear gains pounds * rearward / wheelbase, the left side pounds * leftward / "
    "track; the height of the centre of gravity gains pounds * up / total. Statics."
)
_DIAGONALS = (
    "How it divides over the diagonals: rigid chassis on four springs, as for the jacks. Wheel "
    "rate: Milliken and Milliken, Race Car Vehicle Dynamics, ch. 16 (from memory)."
)
_TRANSFER = (
    "Load transfer per g = total * height of the centre of gravity / track, the track being the "
    "mean of both. Milliken and Milliken, ch. 18 (from memory)."
)

_LOADS = (
    Line("loads", "After", "lb"),
    Line("change", "Change", "lb", signed=True),
    Line("ride_height", "Ride height", "in", 3, signed=True),
)
_HEIGHT = (
    Line("cg_height_change", "Change", "in", 3, signed=True),
    Line("cg_height_before", "Before", "in", 2),
    Line("cg_height", "After", "in", 2),
)
_PER_G = (
    Line("transfer_before", "Before", "lb/g"),
    Line("transfer_after", "After", "lb/g"),
    Line(
        "transfer_change",
        "Change",
        "lb/g",
        signed=True,
        of=lambda moved: moved.transfer_after - moved.transfer_before,
    ),
)
_WAYS = ("rearward", "leftward", "up")
_SIZES = ("wheelbase", "track_front", "track_rear", "cg_height")


def _work(known: Known) -> Worksheet:
    pounds = known.needed("move")
    if not known.typed(*_WAYS):
        raise Refusal(
            "missing",
            "Where the ballast goes is not given.",
            where="--rearward, --leftward or --up",
            hint="--move 50 --rearward 40",
        )
    rearward, leftward, up = (known.taken(name, 0.0) for name in _WAYS)
    scales = known.needed_corners("scales")
    wheelbase = known.needed("wheelbase") if rearward else known.number("wheelbase")
    if leftward:
        known.needed("track_front")
        known.needed("track_rear")
    front, rear = known.tracks()
    suspension, height = suspension_of(known), known.number("cg_height")
    car = AtRest(
        loads=scales,
        suspension=suspension or EQUALLY_STIFF,
        wheelbase=wheelbase,
        track_front=front,
        track_rear=rear,
        cg_height=height,
    )
    moved = ballast.move_ballast(car, pounds, rearward=rearward, leftward=leftward, upward=up)
    per_g = moved.transfer_after is not None
    return Worksheet(
        work="ballast",
        title=f"Ballast: {pounds:g} lb moved",
        inputs=known.rows("move", *_WAYS, "scales", *_SIZES, *SPRINGS),
        equations=(_MOMENTS, _DIAGONALS, _TRANSFER) if per_g else (_MOMENTS, _DIAGONALS),
        results=_results(scales, moved, pounds * up, height),
        remarks=_remarks(suspension is not None, per_g),
        cautions=(CAUTIONS["ballast"], CAUTIONS["stands"]),
    )


def _results(
    scales: Mapping[Corner, float], moved: BallastMove, lifted: float, height: float | None
) -> list[Part]:
    before = weigh(scales)
    loads = {
        "loads": moved.loads,
        "change": per_corner(lambda corner: moved.loads[corner] - scales[corner]),
        "ride_height": moved.ride_height,
    }
    heights = {
        "cg_height_change": lifted / before.total,
        "cg_height_before": height,
        "cg_height": moved.cg_height,
    }
    parts = [
        Part("Loads", rows(_LOADS, loads)),
        Part("Before", rows(PERCENTAGES, before), "before"),
        Part("After", rows(PERCENTAGES, moved.split), "after"),
        Part("Height of the centre of gravity", rows(_HEIGHT, heights)),
    ]
    if moved.transfer_after is not None:
        parts.append(Part("Load transfer, inside to outside, per g", rows(_PER_G, moved)))
    return parts


def _remarks(sprung: bool, transfer: bool) -> list[str]:
    said = []
    if not sprung:
        said.append(
            "Without spring rates (--spring, settings.spring) the corners are assumed equally "
            "stiff. Axle and side sums do not depend on that; the cross does."
        )
    if not transfer:
        said.append(
            "For the load transfer per g give --cg-height, --track-front and --track-rear, or "
            "these keys under [dimensions] in the car file."
        )
    return said


CALCULATOR = Calculator(
    about="Say what moving ballast does to loads, percentages and load transfer.",
    takes=("move", *_WAYS, "scales", *SPRINGS, *_SIZES),
    work=_work,
)
