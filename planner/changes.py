"""Changes to the car: what is turned, where, by how much, within which limits."""

import math
from collections.abc import Iterable, Mapping

import attrs

from planner import entry, knobs
from planner.car import Limit
from planner.errors import Refusal, quoted
from planner.knobs import KNOBS, Knob

Setting = tuple[str, str]  # (knob, place)


@attrs.frozen
class Change:
    """One knob turned at one place.

    Attributes
    ----------
    amount : in the knob's unit; signs as in `knobs`.
    before, after : the setting before and after; None where the present setting is not known.
    trim : rides along with the stage's own change.
    """

    knob: str
    corner: str
    amount: float
    before: float | None = None
    after: float | None = None
    trim: bool = False

    @property
    def setting(self) -> Setting:
        """The knob and its place."""
        return self.knob, self.corner

    @property
    def unit(self) -> str:
        """The unit of the amount."""
        return KNOBS[self.knob].unit

    def __str__(self) -> str:
        text = f"{self.corner} {self.knob} {knobs.shown(self.knob, self.amount)}"
        return f"{text} ({knobs.words(self.knob, self.corner, self.amount)})"


def make(
    knob: str, place: str, amount: float, settings: Mapping[Setting, float], *, trim: bool = False
) -> Change:
    """Return a change, with the settings before and after where the present one is known."""
    before = settings.get((knob, place))
    after = None if before is None else tidy(before + amount)
    return Change(knob, place, tidy(amount), before, after, trim)


def _out(knob: Knob, setting: float) -> float:
    """Return how far a setting is from what can be."""
    return max(knob.lowest - setting, setting - knob.highest, 0.0)


def tidy(number: float) -> float:
    """Return the number without the dust of binary fractions (six decimals)."""
    return round(number, 6) + 0.0


def parse(text: str, option: str) -> tuple[str, str, float]:
    """Read ``KNOB:PLACE:AMOUNT``.

    Raises
    ------
    Refusal
        Names what is wrong and shows an example.
    """
    parts = text.strip().split(":")
    hint = f"{option} pressure:RF:-1.0"
    if len(parts) != 3:
        raise Refusal(
            "bad-value", f"{quoted(text)} is not KNOB:PLACE:AMOUNT.", where=option, hint=hint
        )
    knob, place = parts[0].strip().lower(), parts[1].strip()
    if knob not in KNOBS:
        raise Refusal(
            "bad-value",
            f"{quoted(parts[0])} is no knob; there are {', '.join(KNOBS)}.",
            where=option,
            hint=hint,
        )
    wanted = {name.lower(): name for name in KNOBS[knob].places}
    if place.lower() not in wanted:
        raise Refusal(
            "bad-value",
            f"{knob} is not changed at {quoted(place)}; it is at {', '.join(KNOBS[knob].places)}.",
            where=option,
            hint=f"{option} {knob}:{KNOBS[knob].places[0]}:AMOUNT",
        )
    amount = _number(parts[2])
    if not math.isfinite(amount):
        raise Refusal(
            "bad-value",
            f"{quoted(parts[2])} is no amount in {KNOBS[knob].unit}.",
            where=option,
            hint=hint,
        )
    _refuse_large(knob, amount, option)
    return knob, wanted[place.lower()], tidy(amount)


def amount(text: str, option: str, example: str) -> float:
    """Read an amount of a change, whatever its knob.

    Raises
    ------
    Refusal
        It is no number, or larger than any knob is moved.
    """
    value = tidy(entry.number(text, option, example))
    largest = max(knob.largest for knob in KNOBS.values())
    if abs(value) > largest:
        raise Refusal(
            "bad-value",
            f"No knob is changed by {value:g} at once.",
            where=option,
            hint=f"for example {example}",
        )
    return value


def _refuse_large(knob: str, amount: float, option: str) -> None:
    largest, unit = KNOBS[knob].largest, KNOBS[knob].unit
    if abs(amount) > largest:
        raise Refusal(
            "bad-value",
            f"{knob} is not changed by {amount:+g} {unit} at once.",
            where=option,
            hint=f"at most {largest:g} {unit}, either way",
        )


def _refuse_slip(change: Change, option: str) -> None:
    """Refuse an amount that is too large, or that leads where no car can be set."""
    _refuse_large(change.knob, change.amount, option)
    knob, before, after = KNOBS[change.knob], change.before, change.after
    if before is None or after is None or _out(knob, after) <= _out(knob, before):
        return
    raise Refusal(
        "bad-value",
        f"{change.corner} {change.knob} would go from {before:g} to {after:g} {knob.unit}, which "
        "cannot be.",
        where=f"{option} {change.knob}:{change.corner}",
        hint=f"a setting from {knob.lowest:g} to {knob.highest:g} {knob.unit}; if the plan has the "
        "present one wrong, put that right first with treadgate amend",
    )


def _number(text: str) -> float:
    """Return the number, a decimal comma allowed; NaN where there is none."""
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return math.nan


def stepped(amount: float, step: float, most: float) -> float:
    """Return the amount as a whole number of steps: at least one, at most `most`."""
    if amount == 0:
        return 0.0
    steps = max(1.0, math.floor(abs(amount) / step + 0.5))
    steps = min(steps, math.floor(most / step + 1e-9))
    return tidy(math.copysign(max(steps, 1.0) * step, amount))


def within(
    knob: str, amount: float, before: float | None, limit: Limit | None, step: float
) -> tuple[float, str]:
    """Cut an amount so that the setting stays within its limits, and within what can be set at all.

    Parameters
    ----------
    knob, amount : what is to be turned, by how much.
    before : where it stands; nothing is cut where that is not known.
    limit : of the car file.
    step : what is left is a whole number of these.

    Returns
    -------
    tuple
        The amount that is left (whole steps, perhaps 0), and what was cut in words or ``""``.
    """
    if before is None or amount == 0:
        return amount, ""
    there, limit = KNOBS[knob], limit or Limit()
    if amount > 0:
        edge = there.highest if limit.max is None else min(limit.max, there.highest)
    else:
        edge = there.lowest if limit.min is None else max(limit.min, there.lowest)
    room = (edge - before) if amount > 0 else (before - edge)
    if abs(amount) <= room + 1e-9:
        return amount, ""
    left = max(0.0, math.floor(room / step + 1e-9) * step)
    whose = "the car file's limit" if edge in (limit.min, limit.max) else "what can be set at all"
    word = "highest" if amount > 0 else "lowest"
    return tidy(math.copysign(left, amount)), f"cut by {whose} ({word} {edge:g})"


def refuse_beyond_limits(
    changes: Iterable[Change], limits: Mapping[str, Limit], option: str
) -> None:
    """Refuse changes that are slips, or take a setting past a limit of the car file or of any car.

    Raises
    ------
    Refusal
        Names the setting, the limit, and the most that is left.
    """
    for change in changes:
        _refuse_slip(change, option)
        limit = limits.get(change.knob)
        left, cut = within(change.knob, change.amount, change.before, limit, 1e-6)
        if cut and change.after is not None:
            raise Refusal(
                "beyond-limit",
                f"{change.corner} {change.knob} would go from {change.before:g} to "
                f"{change.after:g} {change.unit}, past the limit in the car file.",
                where=f"{option} {change.knob}:{change.corner}, limits.{change.knob}",
                hint=f"at most {left:+g} from where it is",
            )
