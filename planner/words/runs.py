"""A run as recorded, in words: its laps, why it judges nothing, how it was read, the driver."""

from collections.abc import Mapping, Sequence

from planner.run import lap_times
from planner.run.readings import Feel, FewLaps, Flag, NotRead, Part, ReadingRemark, ReadLate, Void
from planner.trade.corners import STRIPS
from planner.trade.units import System
from planner.words.figures import difference

_SPOILED: dict[Flag, str] = {
    "lockup": "the brakes were locked",
    "swerve": "the car swerved",
}


def void(why: Void | None) -> str:
    """Say why a run judges nothing; ``""`` for one that does."""
    if why is None:
        return ""
    said = [_SPOILED.get(flag, flag) for flag in why.flags]
    if why.laps is not None:
        said.append(f"only {why.laps} of {why.planned} laps were run")
    return "; ".join(said)


def laps(times: Sequence[float]) -> str:
    """Say best, mean and fall-off of a run in one line."""
    seen = lap_times.summary(times)
    text = f"best {seen.best:.2f} s, mean {seen.mean:.2f} s over {len(seen.counted)} laps"
    if seen.falloff is not None and seen.falloff_error is not None:
        way = "falling off" if seen.falloff >= 0 else "gaining"
        text += f", {way} {abs(seen.falloff):.3f} ± {seen.falloff_error:.3f} s a lap"
    if len(seen.counted) < len(times):
        text += " (without the out lap)"
    return text


def felt(said: Mapping[Part, Feel]) -> str:
    """Say what the driver felt, and where, e.g. ``loose at entry, tight at exit``."""
    at: dict[Part, str] = {
        "all": "",
        "entry": " at entry",
        "middle": " in the middle",
        "exit": " at exit",
    }
    return ", ".join(f"{said[part]}{where}" for part, where in at.items() if part in said)


def cooling(remark: ReadingRemark, system: System) -> str:
    """Say what to know about how the tires were read."""
    if isinstance(remark, NotRead):
        what = "" if len(remark.strips) == len(STRIPS) else f" {' and '.join(remark.strips)}"
        return f"{remark.corner}{what} not read: nothing is judged by the figures that need it"
    if isinstance(remark, FewLaps):
        return f"{remark.laps} of {remark.planned} laps were run: the readings count for less"
    if isinstance(remark, ReadLate):
        return (
            f"{remark.corner or 'the first tire'} was read {remark.delay:.0f} s after the stop: "
            "the readings count for less"
        )
    change = difference(remark.change, system)
    said = {
        "order-not-known": "was read again, but the order of reading is not known",
        "not-read": "was not read whole the first time",
        "near-air": "is too near the air's temperature to show how fast the tires cool",
        "heats-up": f"read {change} the second time, and a standing tire does not heat up",
        "too-fast": f"read {change} within {remark.within:.0f} s, faster than a tire cools",
    }[remark.why]
    return f"{remark.corner} {said}: the readings are not corrected"
