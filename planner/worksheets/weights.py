"""Four scales: percentages and wedge, and the loads at a wanted cross or an even front share."""

from collections.abc import Mapping

from planner.chassis import weights
from planner.chassis.weights import WeightSplit
from planner.trade.corners import CORNERS, Corner, per_corner
from planner.trade.refusals import Refusal
from planner.worksheets.inputs import Calculator, Known
from planner.worksheets.quantities import Wish
from planner.worksheets.worksheet import Line, Part, Worksheet, rows

Loads = Mapping[Corner, float]

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


_CROSS = Line("cross", "Cross, RF + LR", "percent", 2)
_WEDGE = Line("wedge", "Wedge, LR - RR", "lb", signed=True)
_DIAGONALS = Line("diagonals", "Diagonals", "lb")
PERCENTAGES = (
    Line("total", "Total", "lb"),
    Line("front", "Front", "percent", 2),
    Line("rear", "Rear", "percent", 2),
    Line("left", "Left", "percent", 2),
    Line("right", "Right", "percent", 2),
    _CROSS,
    _WEDGE,
)
_SUMS = (Line("axles", "Axles", "lb"), Line("sides", "Sides", "lb"), _DIAGONALS)
_SIDES = (
    Line("diagonal_difference", "Difference of diagonals", "lb"),
    Line("front_of_left", "Left side on its front", "percent", 2),
    Line("front_of_right", "Right side on its front", "percent", 2),
)
_WISHED = (
    Line("loads", "Loads", "lb"),
    Line("change", "Change", "lb", signed=True),
    _DIAGONALS,
    _CROSS,
    _WEDGE,
)


def _work(known: Known) -> Worksheet:
    scales = known.needed_corners("scales")
    ratio = known.track_ratio()
    total, cross, share = (known.number(name) for name in ("total", "cross", "front_share"))
    split = weights.weigh(scales)
    parts = [_the_car(scales, split)]
    equations, remarks = [_SPLIT], [] if total is None else [_checked(split.total, total)]
    inputs: tuple[str, ...] = ("scales", "total", "cross", "front_share")
    if cross is not None:
        wanted = weights.loads_for_cross(scales, cross, track_ratio=ratio)
        equations.append(_WARP)
        parts.append(_wished("at_cross", f"At {cross:g} % cross", scales, wanted))
        remarks.append("`work jack` turns a wanted cross into turns of the weight jacks.")
        inputs += ("track_front", "track_rear")
    if known.typed("even_front", "front_share"):
        even = weights.loads_for_equal_front_share(scales, share)
        share = split.front if share is None else share
        title = f"With {share:.1f} % on the front of each side"
        equations.append(_EVEN)
        parts.append(_wished("even_front", title, scales, even))
        remarks.append(_said_of_share(share, split, even))
    return Worksheet(
        work="weights",
        title="Weights: where the weight of the car sits",
        inputs=known.rows(*inputs),
        equations=equations,
        results=parts,
        remarks=remarks,
    )


def _checked(scaled: float, total: float) -> str:
    """Say that the scales agree with the total stated, or refuse."""
    off = scaled - total
    if abs(off) > TOTAL_TOLERANCE / 100 * total:
        raise Refusal(
            "bad-value",
            f"The four scales add up to {scaled:g} lb, {off:+g} lb off the total of {total:g} lb.",
            where="total",
            hint="read the scales again, or leave the total out",
        )
    return f"The four scales add up to the stated total within {abs(off):.1f} lb."


def _sums(loads: Loads) -> dict[str, dict[str, float]]:
    lf, rf, lr, rr = (loads[corner] for corner in CORNERS)
    return {
        "axles": {"front": lf + rf, "rear": lr + rr},
        "sides": {"left": lf + lr, "right": rf + rr},
        "diagonals": {"RF+LR": rf + lr, "LF+RR": lf + rr},
    }


def _the_car(scales: Loads, split: WeightSplit) -> Part:
    sums = rows(_SUMS, _sums(scales))
    return Part("The car", (*rows(PERCENTAGES, split), *sums, *rows(_SIDES, split)))


def _wished(key: str, title: str, now: Loads, loads: Loads) -> Part:
    change = per_corner(lambda corner: loads[corner] - now[corner])
    split = weights.weigh(loads)
    found = {
        "loads": dict(loads),
        "change": change,
        "diagonals": _sums(loads)["diagonals"],
        "cross": split.cross,
        "wedge": split.wedge,
    }
    return Part(title, rows(_WISHED, found), key)


def _said_of_share(share: float, split: WeightSplit, even: Loads) -> str:
    moved = even["LF"] + even["RF"] - split.front / 100 * split.total
    if abs(moved) >= 0.05:
        return (
            f"A front share of {share:g} % needs {abs(moved):.1f} lb "
            f"{'more' if moved > 0 else 'less'} on the front axle; the jacks alone leave it at "
            f"{split.front:.2f} %."
        )
    mean = (split.front_of_left + split.front_of_right) / 2
    return (
        "The share is the front percentage of the car, which the jacks alone reach (tracks "
        f"assumed equal). The plain mean of the two sides' shares is {mean:.1f} %."
    )


CALCULATOR = Calculator(
    about="Turn four scales into percentages and wedge, or find the loads wanted.",
    takes=("scales", "total", "cross", "front_share", "track_front", "track_rear"),
    wishes=(Wish("even_front", "loads with one front share on both sides"),),
    work=_work,
)
