"""The rest of the day against the budget, in words."""

from planner.plan.budget import Fitting
from planner.trade.plain_text import counted


def says(fitting: Fitting) -> str:
    """Say how many runs are to be expected, whether they fit, and what to leave out if not."""
    runs, expected = fitting.whole_runs, fitting.expected
    text = (
        f"about {counted(runs, 'more run')} ({expected.low} to {expected.high}), "
        f"{expected.minutes:.0f} minutes"
    )
    if fitting.runs_left is None:
        return text
    text += f"; there is enough for {fitting.runs_left}"
    if fitting.fits:
        return text
    if fitting.leave_out is None:
        return f"{text}: it will not fit, and no one stage left out would make it fit"
    return f"{text}: it will not fit; leave out the {fitting.leave_out} stage"
