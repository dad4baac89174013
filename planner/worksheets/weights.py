"""Four scales: percentages and wedge, and the loads at a wanted cross or an even front share."""

from collections.abc import Mapping

from planner.chassis import weights
from planner.chassis.weights import WeightSplit
from planner.trade.corners import CORNERS, Corner, per_corner
from planner.trade.refusals import Refusal
from planner.worksheets.worksheet import Part, Row, Worksheet, given

TOTAL_TOLERANCE = 1.0  # percent the stated total may differ; scales seldom agree better

_SPLIT = (
    "Percentages: front = (LF + RF) / total, left = (LF + LR) / total, cross = (RF + LR) / total; "
    "wedge = LR - RR. D. Alexander, “Understanding Corner Weights”, Grassroots Motorsports "
    "(wedge: common practice)."
)
_WARP = (
    "Warp: jacks move d onto RF, off LF, and d times front over rear track onto LR, off RR; "
    "d = total * (cross wanted - cross now) / (1 + front over rear track). With equal tracks all "
    "four sums stay. D. Alexander, “Understanding Corner Weights”."
)
_EVEN = (
    "Equal front share: LF = left side * share, RF = right side * share. Ground Control, “The "
    "Hows and Whys of Cornerweights”."
)


def percent_rows(split: WeightSplit) -> tuple[Row, ...]:
    """Return total, percentages and wedge as rows."""
    return (
        Row("total", "Total", split.total, "lb"),
        Row("front", "Front", split.front, "percent", 2),
        Row("rear", "Rear", split.rear, "percent", 2),
        Row("left", "Left", split.left, "percent", 2),
        Row("right", "Right", split.right, "percent", 2),
        Row("cross", "Cross, RF + LR", split.cross, "percent", 2),
        Row("wedge", "Wedge, LR - RR", split.wedge, "lb", signed=True),
    )


def sheet(
    scales: Mapping[Corner, float],
    *,
    total: float | None = None,
    cross: float | None = None,
    even_front: bool = False,
    front_share: float | None = None,
    track_front: float | None = None,
    track_rear: float | None = None,
) -> Worksheet:
    """Work out what four scales say.

    Parameters
    ----------
    scales : scale reading per corner [lb].
    total : weight of the car known from elsewhere, as a check [lb].
    cross : cross wanted [percent].
    even_front : also find the loads with one front share on both sides.
    front_share : that share [percent]; left out, the front percentage of the car.
    track_front, track_rear : tracks [in]; equal where one is not known.

    Raises
    ------
    Refusal
        The total does not fit the scales, or a wish would lift a wheel.
    """
    split = weights.weigh(scales)
    remarks: list[str] = []
    if total is not None:
        off = split.total - total
        if abs(off) > TOTAL_TOLERANCE / 100 * total:
            raise Refusal(
                "bad-value",
                f"The four scales add up to {split.total:g} lb, {off:+g} lb off the total of "
                f"{total:g} lb.",
                where="total",
                hint="read the scales again, or leave the total out",
            )
        remarks.append(f"The four scales add up to the stated total within {abs(off):.1f} lb.")
    axles = {"front": scales["LF"] + scales["RF"], "rear": scales["LR"] + scales["RR"]}
    sides = {"left": scales["LF"] + scales["LR"], "right": scales["RF"] + scales["RR"]}
    diagonals = {"RF+LR": scales["RF"] + scales["LR"], "LF+RR": scales["LF"] + scales["RR"]}
    equations = [_SPLIT]
    parts = [
        Part(
            "The car",
            (
                *percent_rows(split),
                Row("axles", "Axles", axles, "lb"),
                Row("sides", "Sides", sides, "lb"),
                Row("diagonals", "Diagonals", diagonals, "lb"),
                Row(
                    "diagonal_difference",
                    "Difference of diagonals",
                    split.diagonal_difference,
                    "lb",
                ),
                Row("front_of_left", "Left side on its front", split.front_of_left, "percent", 2),
                Row(
                    "front_of_right", "Right side on its front", split.front_of_right, "percent", 2
                ),
            ),
        )
    ]
    ratio = track_front / track_rear if track_front and track_rear else 1.0
    if cross is not None:
        equations.append(_WARP)
        wanted = weights.loads_for_cross(scales, cross, track_ratio=ratio)
        parts.append(_wanted("at_cross", f"At {cross:g} % cross", scales, wanted))
        remarks.append("`work jack` turns a wanted cross into turns of the weight jacks.")
    if even_front or front_share is not None:
        equations.append(_EVEN)
        share = split.front if front_share is None else front_share
        even = weights.loads_for_equal_front_share(scales, front_share)
        parts.append(
            _wanted("even_front", f"With {share:.1f} % on the front of each side", scales, even)
        )
        moved = even["LF"] + even["RF"] - axles["front"]
        if abs(moved) >= 0.05:
            remarks.append(
                f"A front share of {share:g} % needs {abs(moved):.1f} lb "
                f"{'more' if moved > 0 else 'less'} on the front axle; the jacks alone leave it "
                f"at {split.front:.2f} %."
            )
        else:
            remarks.append(
                "The share is the front percentage of the car, which jacks alone reach (tracks "
                "taken as equal). The plain mean of the two sides' shares is "
                f"{(split.front_of_left + split.front_of_right) / 2:.1f} %."
            )
    return Worksheet(
        work="weights",
        title="Weights: where the weight of the car sits",
        inputs=(
            *given("scales", "Scales", scales, "lb"),
            *given("total", "Total, stated", total, "lb"),
            *given("cross", "Cross wanted", cross, "percent"),
            *given("front_share", "Front share wanted", front_share, "percent"),
            *(given("track_front", "Front track", track_front, "in") if cross is not None else ()),
            *(given("track_rear", "Rear track", track_rear, "in") if cross is not None else ()),
        ),
        equations=tuple(equations),
        results=tuple(parts),
        remarks=tuple(remarks),
    )


def _wanted(
    key: str, title: str, now: Mapping[Corner, float], loads: Mapping[Corner, float]
) -> Part:
    split = weights.weigh(loads)
    change = per_corner(lambda corner: loads[corner] - now[corner])
    diagonals = {"RF+LR": loads["RF"] + loads["LR"], "LF+RR": loads["LF"] + loads["RR"]}
    return Part(
        title,
        (
            Row("loads", "Loads", {corner: loads[corner] for corner in CORNERS}, "lb"),
            Row("change", "Change", change, "lb", signed=True),
            Row("diagonals", "Diagonals", diagonals, "lb"),
            Row("cross", "Cross, RF + LR", split.cross, "percent", 2),
            Row("wedge", "Wedge, LR - RR", split.wedge, "lb", signed=True),
        ),
        key,
    )
