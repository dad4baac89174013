"""Changes to the car: what is turned, where, by how much, within which limits."""

import math
from collections.abc import Iterable, Mapping

import attrs

from planner import knobs
from planner.car import Limit
from planner.errors import Refusal
from planner.knobs import KNOBS

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
        raise Refusal("bad-value", f"{text!r} is not KNOB:PLACE:AMOUNT.", where=option, hint=hint)
    knob, place = parts[0].strip().lower(), parts[1].strip()
    if knob not in KNOBS:
        raise Refusal(
            "bad-value",
            f"{parts[0]!r} is no knob; there are {', '.join(KNOBS)}.",
            where=option,
            hint=hint,
        )
    wanted = {name.lower(): name for name in KNOBS[knob].places}
    if place.lower() not in wanted:
        raise Refusal(
            "bad-value",
            f"{knob} is not changed at {place!r}; it is at {', '.join(KNOBS[knob].places)}.",
            where=option,
            hint=f"{option} {knob}:{KNOBS[knob].places[0]}:AMOUNT",
        )
    try:
        amount = float(parts[2])
    except ValueError:
        amount = math.nan
    if math.isfinite(amount) and abs(amount) > KNOBS[knob].largest:
        raise Refusal(
            "bad-value",
            f"{knob} is not changed by {amount:+g} {KNOBS[knob].unit} at once.",
            where=option,
            hint=f"at most {KNOBS[knob].largest:g} {KNOBS[knob].unit}, either way",
        )
    if not math.isfinite(amount):
        raise Refusal(
            "bad-value",
            f"{parts[2]!r} is no amount in {KNOBS[knob].unit}.",
            where=option,
            hint=hint,
        )
    return knob, wanted[place.lower()], amount


def stepped(amount: float, step: float, most: float) -> float:
    """Return the amount as a whole number of steps: at least one, at most `most`."""
    if amount == 0:
        return 0.0
    steps = max(1.0, math.floor(abs(amount) / step + 0.5))
    steps = min(steps, math.floor(most / step + 1e-9))
    return tidy(math.copysign(max(steps, 1.0) * step, amount))


def within(
    amount: float, before: float | None, limit: Limit | None, step: float
) -> tuple[float, str]:
    """Cut an amount so that the setting stays within its limits.

    Returns
    -------
    tuple
        The amount that is left (whole steps, perhaps 0), and what was cut in words or ``""``.
    """
    if limit is None or before is None or amount == 0:
        return amount, ""
    edge = limit.max if amount > 0 else limit.min
    if edge is None:
        return amount, ""
    room = (edge - before) if amount > 0 else (before - edge)
    if abs(amount) <= room + 1e-9:
        return amount, ""
    left = max(0.0, math.floor(room / step + 1e-9) * step)
    word = "highest" if amount > 0 else "lowest"
    return tidy(math.copysign(left, amount)), f"cut by the car file's limit ({word} {edge:g})"


def refuse_beyond_limits(
    changes: Iterable[Change], limits: Mapping[str, Limit], option: str
) -> None:
    """Refuse changes that take a setting past a limit of the car file.

    Raises
    ------
    Refusal
        Names the setting, the limit, and the most that is left.
    """
    for change in changes:
        limit = limits.get(change.knob)
        left, cut = within(change.amount, change.before, limit, 1e-6)
        if cut and change.after is not None:
            raise Refusal(
                "beyond-limit",
                f"{change.corner} {change.knob} would go from {change.before:g} to "
                f"{change.after:g} {change.unit}, past the limit in the car file.",
                where=f"{option} {change.knob}:{change.corner}, limits.{change.knob}",
                hint=f"at most {left:+g} from where it is",
            )
