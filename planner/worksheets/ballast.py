"""Moved ballast: loads, percentages, height of the centre of gravity, load transfer per g."""

from collections.abc import Mapping

from planner.chassis import ballast
from planner.chassis.at_rest import EQUALLY_STIFF, AtRest, Suspension
from planner.chassis.weights import weigh
from planner.trade.cautions import CAUTIONS
from planner.trade.corners import Corner, per_corner
from planner.worksheets.jack import suspension_rows
from planner.worksheets.weights import percent_rows
from planner.worksheets.worksheet import Part, Row, Worksheet, given

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


def sheet(
    scales: Mapping[Corner, float],
    pounds: float,
    *,
    rearward: float = 0.0,
    leftward: float = 0.0,
    up: float = 0.0,
    wheelbase: float | None = None,
    track_front: float | None = None,
    track_rear: float | None = None,
    suspension: Suspension | None = None,
    cg_height: float | None = None,
) -> Worksheet:
    """Work out what moving ballast does.

    Parameters
    ----------
    scales : scale reading per corner [lb].
    pounds : ballast moved [lb].
    rearward, leftward, up : how far [in]; negative is forward, rightward, down.
    wheelbase : [in]; needed for a move fore or aft.
    track_front, track_rear : [in], both or neither; needed for a move sideways.
    suspension : springs; left out, the corners are taken as equally stiff.
    cg_height : height of the centre of gravity [in].

    Raises
    ------
    Refusal
        More ballast than car, or a wheel would lift.
    """
    before = weigh(scales)
    car = AtRest(
        loads=scales,
        suspension=suspension or EQUALLY_STIFF,
        wheelbase=wheelbase,
        track_front=track_front,
        track_rear=track_rear,
        cg_height=cg_height,
    )
    moved = ballast.move_ballast(car, pounds, rearward=rearward, leftward=leftward, upward=up)
    remarks = []
    if suspension is None:
        remarks.append(
            "Without spring rates (--spring, settings.spring) the corners are taken as equally "
            "stiff; the axle and side sums do not depend on it, the cross does."
        )
    height = [Row("cg_height_change", "Change", pounds * up / before.total, "in", 3, signed=True)]
    if cg_height is not None:
        height += [
            Row("cg_height_before", "Before", cg_height, "in", 2),
            Row("cg_height", "After", moved.cg_height, "in", 2),
        ]
    equations = [_MOMENTS, _DIAGONALS]
    parts = [
        Part(
            "Loads",
            (
                Row("loads", "After", moved.loads, "lb"),
                Row(
                    "change",
                    "Change",
                    per_corner(lambda corner: moved.loads[corner] - scales[corner]),
                    "lb",
                    signed=True,
                ),
                *(
                    (Row("ride_height", "Ride height", moved.ride_height, "in", 3, signed=True),)
                    if moved.ride_height is not None
                    else ()
                ),
            ),
        ),
        Part("Before", percent_rows(before), "before"),
        Part("After", percent_rows(moved.split), "after"),
        Part("Height of the centre of gravity", tuple(height)),
    ]
    if moved.transfer_before is not None and moved.transfer_after is not None:
        equations.append(_TRANSFER)
        parts.append(
            Part(
                "Load transfer, inside to outside, per g",
                (
                    Row("transfer_before", "Before", moved.transfer_before, "lb/g"),
                    Row("transfer_after", "After", moved.transfer_after, "lb/g"),
                    Row(
                        "transfer_change",
                        "Change",
                        moved.transfer_after - moved.transfer_before,
                        "lb/g",
                        signed=True,
                    ),
                ),
            )
        )
    else:
        remarks.append(
            "For the load transfer per g give --cg-height, --track-front and --track-rear, or "
            "these keys under [dimensions] in the car file."
        )
    return Worksheet(
        work="ballast",
        title=f"Ballast: {pounds:g} lb moved",
        inputs=(
            *given("move", "Ballast", pounds, "lb"),
            *given("rearward", "Rearward", rearward, "in"),
            *given("leftward", "Leftward", leftward, "in"),
            *given("up", "Up", up, "in"),
            *given("scales", "Scales", scales, "lb"),
            *given("wheelbase", "Wheelbase", wheelbase, "in"),
            *given("track_front", "Front track", track_front, "in"),
            *given("track_rear", "Rear track", track_rear, "in"),
            *given("cg_height", "Centre of gravity, height", cg_height, "in"),
            *(() if suspension is None else suspension_rows(suspension)),
        ),
        equations=tuple(equations),
        results=tuple(parts),
        remarks=tuple(remarks),
        cautions=(CAUTIONS["ballast"], CAUTIONS["stands"]),
    )
