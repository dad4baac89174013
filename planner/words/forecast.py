"""The day ahead in words."""

import math

from planner.plan.budget import Fitting


def runs_ahead(fitting: Fitting) -> str:
    """Say how many runs the day may still take, whether they fit, and what to leave out if not."""
    expected, left = fitting.expected, fitting.runs_left
    whole = math.floor(expected.runs + 0.5)
    said = (
        f"about {whole} more run{'' if whole == 1 else 's'} ({expected.low} to {expected.high}), "
        f"{expected.minutes:.0f} minutes"
    )
    if left is None:
        return said
    said += f"; enough left for {left}"
    if fitting.fits:
        return said
    if fitting.leave_out is None:
        return f"{said}: it will not fit, and leaving out one stage would not help"
    return f"{said}: it will not fit; leave out the {fitting.leave_out} stage"
