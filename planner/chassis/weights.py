"""Scale readings: the percentages the trade speaks in, and loads worked back from them."""

from collections.abc import Mapping

import attrs

from planner.chassis.checks import checked, checked_corners
from planner.trade.corners import CORNERS, FRONT, LEFT, REAR, RIGHT, Corner
from planner.trade.refusals import Refusal


@attrs.frozen
class WeightSplit:
    """Where the weight of the car sits.

    Attributes
    ----------
    total : sum of the four scales [lb].
    front, rear, left, right : share of the total [percent].
    cross : (RF + LR) over the total [percent].
    wedge : LR minus RR [lb].
    diagonal_difference : (RF + LR) minus (LF + RR) [lb].
    front_of_left, front_of_right : share of that side that its front tire carries [percent].
    """

    total: float
    front: float
    rear: float
    left: float
    right: float
    cross: float
    wedge: float
    diagonal_difference: float
    front_of_left: float
    front_of_right: float


def weigh(loads: Mapping[Corner, float]) -> WeightSplit:
    """Turn four scale readings into percentages and wedge.

    Parameters
    ----------
    loads : scale reading per corner [lb].

    Returns
    -------
    WeightSplit

    Raises
    ------
    Refusal : a reading is missing, not a number, or not above zero.

    Notes
    -----
    Left, rear and cross percent are as defined in [1]: ``cross = 100 (RF + LR) / total``.
    Wedge is the difference across the rear axle, ``LR - RR`` (common practice, no source);
    like cross it grows when the left-rear jack is screwed in.

    References
    ----------
    [1] D. Alexander, "Understanding Corner Weights", Grassroots Motorsports.
    """
    load = checked_corners(loads, "loads", "lb")
    total = sum(load.values())

    def part(first: Corner, second: Corner) -> float:
        return 100.0 * (load[first] + load[second]) / total

    diagonal = load["RF"] + load["LR"]
    return WeightSplit(
        total=total,
        front=part(*FRONT),
        rear=part(*REAR),
        left=part(*LEFT),
        right=part(*RIGHT),
        cross=100.0 * diagonal / total,
        wedge=load["LR"] - load["RR"],
        diagonal_difference=2.0 * diagonal - total,
        front_of_left=100.0 * load["LF"] / (load["LF"] + load["LR"]),
        front_of_right=100.0 * load["RF"] / (load["RF"] + load["RR"]),
    )


def check_on_ground(loads: Mapping[Corner, float], where: str) -> dict[Corner, float]:
    """Return the loads, or refuse what would lift a wheel off the ground.

    Parameters
    ----------
    loads : computed load per corner [lb].
    where : parameter that asked for them, for the message.

    Raises
    ------
    Refusal : a load is not above zero.
    """
    for corner in CORNERS:
        if not loads[corner] > 0.0:
            raise Refusal(
                "bad-value",
                f"{where} does not add up: {corner} would carry {loads[corner]:.0f} lb.",
                where=where,
                hint="Check the numbers, or ask for less, so that all four tires carry weight.",
            )
    return dict(loads)


def loads_for_cross(
    loads: Mapping[Corner, float], cross: float, *, track_ratio: float = 1.0
) -> dict[Corner, float]:
    """Find the loads at a wanted cross percentage, reached with the jacks alone.

    Parameters
    ----------
    loads : scale reading per corner now [lb].
    cross : wanted share on RF + LR [percent].
    track_ratio : front track over rear track [-]; 1 where the tracks are not known.

    Returns
    -------
    dict : load per corner [lb].

    Raises
    ------
    Refusal : a bad value, or a cross that would lift a wheel.

    Notes
    -----
    Jacks add no weight and no moment, so only one pattern is left, the warp: ``+d`` on RF,
    ``-d`` on LF, ``+d r`` on LR, ``-d r`` on RR, with ``r = track_front / track_rear``.
    With equal tracks front, rear, left and right percent stay as they were [1].

    References
    ----------
    [1] D. Alexander, "Understanding Corner Weights", Grassroots Motorsports.
    """
    now = weigh(loads)
    ratio = checked(track_ratio, "track_ratio", "front over rear track", above=0.0)
    cross = checked(cross, "cross", "percent", above=0.0, below=100.0)
    warp = now.total * (cross - now.cross) / 100.0 / (1.0 + ratio)
    moved: dict[Corner, float] = {
        "LF": loads["LF"] - warp,
        "RF": loads["RF"] + warp,
        "LR": loads["LR"] + warp * ratio,
        "RR": loads["RR"] - warp * ratio,
    }
    return check_on_ground(moved, "cross")


def loads_for_equal_front_share(
    loads: Mapping[Corner, float], front_share: float | None = None
) -> dict[Corner, float]:
    """Find the loads at which both sides carry the same share on the front tire.

    Parameters
    ----------
    loads : scale reading per corner now [lb].
    front_share : wanted share on the front of each side [percent]. Left out, it is the
        front percentage of the car, which jacks alone can reach (equal tracks). Any other
        value also needs weight moved fore and aft.

    Returns
    -------
    dict : load per corner [lb].

    Raises
    ------
    Refusal : a bad value.

    Notes
    -----
    ``LF = left * share`` and ``RF = right * share``. [1] takes the plain mean of the two
    sides' shares, which changes the front total a little when the sides weigh differently.

    References
    ----------
    [1] Ground Control, "The Hows and Whys of Cornerweights".
    """
    now = weigh(loads)
    share = now.front if front_share is None else front_share
    share = checked(share, "front_share", "percent", above=0.0, below=100.0) / 100.0
    left, right = loads["LF"] + loads["LR"], loads["RF"] + loads["RR"]
    return {
        "LF": left * share,
        "RF": right * share,
        "LR": left * (1.0 - share),
        "RR": right * (1.0 - share),
    }
