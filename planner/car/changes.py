"""Changes to the car: what is turned, where, by how much, within which limits."""

import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Literal

import attrs

from planner.run import typed
from planner.trade import knobs, plain_text
from planner.trade.corners import CORNERS
from planner.trade.knobs import KNOBS, Knob, Room
from planner.trade.refusals import Refusal, quoted

Setting = tuple[str, str]  # (knob, place)
Whose = Literal["car-file", "rules", "any-car"]  # end of a setting
RoomAt = Callable[[str, str], Room]  # how far a knob may go at a place


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
        return knobs.of(self.knob).unit

    @property
    def is_other(self) -> bool:
        """Whether it is of something that is no knob: its place is what the crew calls it."""
        return self.knob == knobs.OTHER


@attrs.frozen
class Cut:
    """A setting can go no further.

    Attributes
    ----------
    edge : where it ends [unit of the knob].
    highest : whether that is the highest setting, or the lowest.
    whose : what ends it there: the car file, the rules file, or that no car can be set further.
    """

    edge: float
    highest: bool
    whose: Whose


@attrs.frozen
class BetweenSteps:
    """A change that is no whole number of the smallest steps of the car file."""

    setting: Setting
    amount: float
    step: float


@attrs.frozen
class BeyondRules:
    """A setting leads past an end of the rules file [unit of the knob].

    Attributes
    ----------
    after : where it leads.
    edge, highest : the end, and whether it is the highest or the lowest.
    """

    setting: Setting
    after: float
    edge: float
    highest: bool


def make(
    knob: str, place: str, amount: float, settings: Mapping[Setting, float], *, trim: bool = False
) -> Change:
    """Return a change, with the settings before and after where the present one is known."""
    before = settings.get((knob, place))
    after = None if before is None else tidy(before + amount)
    return Change(knob, place, tidy(amount), before, after, trim)


def moves_of(changes: Iterable[Change]) -> dict[Setting, float]:
    """Return changes as amounts by setting."""
    return {change.setting: change.amount for change in changes}


def _out(knob: Knob, setting: float) -> float:
    """Return how far a setting is from what can be."""
    return max(knob.lowest - setting, setting - knob.highest, 0.0)


def tidy(number: float) -> float:
    """Return the number without the dust of binary fractions (six decimals)."""
    return round(number, 6) + 0.0


# A sign, a number or a fraction, and perhaps a unit: -0.5, +1psi, 1/8", .25 deg.
_AMOUNT = re.compile(
    r"(?P<sign>[+-]?)\s*(?:(?P<over>\d+)/(?P<under>\d+)"
    r"|(?P<number>(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:e[+-]?\d+)?))\s*(?P<unit>[^\s\d]*)",
    re.IGNORECASE,
)
_UNIT_WORDS = frozenset(word for words in knobs.UNITS.values() for word in words)
_PLACES = {place.lower(): place for knob in KNOBS.values() for place in knob.places}
# Cross weight, sway bar, RR tire pressure; take 1 round out of the RR, put 2 psi in the LF.
_FILLING = frozenset(
    (
        *("weight", "sway", "tire", "take", "put", "add", "let", "go", "turn", "by", "of", "the"),
        *("from", "at", "a", "an", "done"),
    )
)
_NUMBERS = {"half": "1/2", "quarter": "1/4", "one": "1", "two": "2", "three": "3", "four": "4"}
_NUMBERS |= dict.fromkeys(("no", "not", "without", "skipped"), "0")  # what was left out
# Words for a sign. Two of them multiply: less negative is up. Behind a number "in" is its unit.
_WAYS = dict.fromkeys(("up", "more", "higher", "stiffer", "positive", "in"), 1.0) | dict.fromkeys(
    ("down", "less", "lower", "softer", "negative", "out"), -1.0
)
_OTHER = re.compile(r"(?<![^\s,;&])other\b[\s:=]*", re.IGNORECASE)
MOST_POUNDS_OF_AIR = 10.0  # in one change; a softer or stiffer spring is 25 lb/in away; from memory
_DONE = frozenset(("0", "1", "+1", "-1"))
_COUNTED = {unit for kind in ("turn", "hole") for unit in knobs.UNITS[kind]} | {"degree", "pound"}
# The one knob that goes by a unit: 2 psi out of the RR. (Pounds are of air, of spring or of lead.)
_SAID_BY = {
    unit: knob
    for knob, its in (("pressure", "psi"), ("camber", "deg"), ("cross", "%"), (knobs.JACK, "turn"))
    for unit in knobs.UNITS[its]
    if unit not in knobs.UNITS["lb"]
}
# A bar that is no anti-roll bar: the panhard bar, which the trade also calls track bar.
_PANHARD = re.compile(r"\b(?:panhard|track)[\s-]+(?:bar|rod)\b", re.IGNORECASE)
_BETWEEN = re.compile(r"[;&]|,(?=\s|$)|\band\b", re.IGNORECASE)


@attrs.define
class _Typed:
    """One change as far as it is read: its words in whatever order they came."""

    knob: str = ""
    place: str = ""
    amount: str = ""
    unknown: str = ""
    ways: list[str] = attrs.field(factory=list)

    def take(self, word: str) -> bool:
        """Put a word where it belongs; say whether there was room for it."""
        word = _NUMBERS.get(word.lower(), word)
        lower, read = word.lower(), _AMOUNT.fullmatch(word)
        lower = knobs.CALLED.get(lower, lower)
        is_amount = read is not None and (not read["unit"] or read["unit"].lower() in _UNIT_WORDS)
        if lower in _WAYS and not (lower == "in" and self.amount[-1:].isdigit()):
            self.ways.append(lower)
            return True
        if (lower in KNOBS or lower == knobs.JACK) and not self.knob:
            self.knob = lower
        elif lower in _PLACES and not self.place and not self._done_without(_PLACES[lower]):
            self.place = _PLACES[lower]
        elif is_amount and not self.amount:
            self.amount = word
        elif lower in _UNIT_WORDS and self.amount[-1:].isdigit():
            self.amount += lower
        elif lower in _COUNTED and not self.amount:  # a round, a hole, a degree
            self.amount = f"1{lower}"
        elif not is_amount and lower not in KNOBS and lower not in _PLACES and not self.unknown:
            self.unknown = word
        else:
            return False
        return True

    def _done_without(self, place: str) -> bool:
        """Say whether it is whole without a place, and this one is none of its knob's."""
        if not self.knob or not self.amount:
            return False
        places = knobs.of(self.knob).places
        return len(places) == 1 and place not in places


def _typed(text: str) -> list[_Typed]:
    """Take a line apart into changes, each a knob, a place and an amount in any order."""
    text = typed.with_corners(_PANHARD.sub("panhard", text))
    line = re.sub(r"(?<![^\s:=])([+-])\s+(?=[\d.,])", r"\1", re.sub("[−–]", "-", text))
    found: list[_Typed] = []
    for part in _BETWEEN.split(line):
        begun = False
        for word in re.split(r"[\s:=]+", part):
            if word.lower() in _FILLING:
                continue
            if word and not (begun and found[-1].take(word)):
                found.append(_Typed())
                found[-1].take(word)
                begun = True
    return found


def parse_all(text: str, option: str) -> list[tuple[str, str, float]]:
    """Read changes: ``camber:RF:+1``, ``RF camber +1 deg``, ``toe 1/8in, RR pressure -1``.

    A place may be left out where the knob has only one; an amount may have its unit. What follows
    the word other is anything else, in the crew's own words: ``other: RR shock 2 clicks softer``.

    Raises
    ------
    Refusal
        Names what is wrong and shows an example.
    """
    named = _OTHER.search(text)
    found = [_change(each, text, option) for each in _typed(text[: named and named.start()])]
    if named is not None:
        found.append(_anything(text[named.end() :], option))
    if not found:
        raise _no_change(text, option)
    return found


def _anything(text: str, option: str) -> tuple[str, str, float]:
    """Read a change of something that is no knob; ``: 0`` at its end says it was not done."""
    name, amount = text, 1.0
    before, _, after = text.rpartition(":")
    if before and after.strip() in _DONE:
        name, amount = before, float(after)
    name = " ".join(plain_text.storable(name).split())
    if not knobs.is_change(knobs.OTHER, name):
        raise Refusal(
            "bad-value",
            f"What was changed wants a name of 1 to {knobs.MOST_OTHER} letters.",
            where=option,
            hint=f'{option} "other: RR shock 2 clicks softer"',
        )
    return knobs.OTHER, name, amount


def parse(text: str, option: str) -> tuple[str, str, float]:
    """Read one change; see `parse_all`.

    Raises
    ------
    Refusal
        Names what is wrong and shows an example; there are several.
    """
    found = parse_all(text, option)
    if len(found) > 1:
        raise Refusal(
            "bad-value",
            f"{quoted(text)} is not one KNOB:PLACE:AMOUNT but {len(found)}.",
            where=option,
            hint=f"{option} pressure:RF:-1.0 {option} pressure:RR:-1.0",
        )
    return found[0]


def _no_change(text: str, option: str) -> Refusal:
    return _wrong(
        f"{quoted(text)} is not KNOB:PLACE:AMOUNT."
        if option
        else f"{quoted(text)} is no change: it wants a knob, a place and an amount.",
        option,
    )


def _wrong(message: str, option: str) -> Refusal:
    return Refusal(
        "bad-value",
        message,
        where=option,
        hint=f"{option} pressure:RF:-1.0" if option else "RF pressure -1.0",
    )


def _change(typed: _Typed, text: str, option: str) -> tuple[str, str, float]:
    read = _AMOUNT.fullmatch(typed.amount)
    unit = "" if read is None else read["unit"].lower()
    typed.knob = typed.knob or _SAID_BY.get(unit, "") or _by_pounds(typed, unit, option)
    if typed.knob == "panhard" and unit in knobs.UNITS["hole"]:
        typed.knob = knobs.HOLES
    if not typed.knob:
        if not typed.unknown:
            raise _no_change(text, option)
        raise _wrong(
            f"{quoted(typed.unknown)} is not a knob; use one of {', '.join(KNOBS)}.", option
        )
    knob = knobs.of(typed.knob)
    place = typed.place or (knob.places[0] if len(knob.places) == 1 else "")
    if place not in knob.places:
        said = place or typed.unknown
        at = f"is not changed at {quoted(said)}" if said else "must have its place"
        raise Refusal(
            "bad-value",
            f"{knob.name} {at}; it is at {', '.join(knob.places)}.",
            where=option,
            hint=f"{option} {knob.name}:{knob.places[0]}:AMOUNT",
        )
    if not typed.unknown and not typed.amount:
        raise _no_change(text, option)
    amount = (
        math.nan
        if typed.unknown
        else _in_unit_of(knob, typed.amount, option, f"{option} {knob.name}:{place}:+1{knob.unit}")
    )
    if not math.isfinite(amount):
        raise _wrong(
            f"{quoted(typed.unknown or typed.amount)} is not an amount in {knob.unit}.", option
        )
    amount = _signed(amount, typed, option)
    _refuse_size(knob.name, amount, option)
    if knob.name == knobs.HOLES and amount != int(amount):
        raise Refusal(
            "bad-value",
            f"{quoted(typed.amount)} is no whole number of holes.",
            where=option,
            hint=f"{option} panhard rear 1 hole up",
        )
    return knob.name, place, tidy(amount)


def _by_pounds(typed: _Typed, unit: str, option: str) -> str:
    """Return what a few pounds at a corner are of: air. Springs go by more at a time.

    Raises
    ------
    Refusal
        They may be of either.
    """
    read = _AMOUNT.fullmatch(typed.amount)
    if unit not in knobs.UNITS["lb"] or typed.place not in CORNERS or typed.unknown or not read:
        return ""
    if read["over"] or float(read["number"].replace(",", ".")) <= MOST_POUNDS_OF_AIR:
        return "pressure"
    raise Refusal(
        "bad-value",
        f"{quoted(typed.amount)} of what, air or spring?",
        where=option,
        hint=f"{option} {typed.place} spring {typed.amount}",
    )


def _signed(amount: float, typed: _Typed, option: str) -> float:
    """Return an amount with the sign that the words beside it say.

    Raises
    ------
    Refusal
        The words say one way, and the sign typed the other.
    """
    if not typed.ways:
        return amount
    if typed.knob == "camber" and not {"in", "out"}.isdisjoint(typed.ways):
        raise Refusal(
            "bad-value",
            "Of the top of the tire or of the bottom? Say camber by its sign.",
            where=option,
            hint=f"{option} {typed.place} camber 0.5 more negative",
        )
    way = math.prod(_WAYS[word] for word in typed.ways)
    if way > 0 > amount or (way < 0 < amount and typed.amount.startswith("+")):
        raise Refusal(
            "bad-value",
            f"{quoted(typed.amount)} goes one way, the word beside it the other.",
            where=option,
            hint=f"{option} {typed.knob}:{typed.place or 'PLACE'}:{-amount:+g}, or the word alone",
        )
    return math.copysign(amount, way)


def _in_unit_of(knob: Knob, text: str, option: str, example: str) -> float:
    """Return an amount in the unit of a knob; NaN where it is none."""
    read = _AMOUNT.fullmatch(text)
    if read is None:
        return math.nan
    if read["over"] is None:
        typed.refuse_a_thousand(read["number"], option)
        size = float(read["number"].replace(",", "."))
    else:
        size = float(read["over"]) / under if (under := float(read["under"])) else math.nan
    unit = read["unit"].lower()
    if knob.name == "cross" and unit in knobs.UNITS["turn"]:
        raise Refusal(
            "bad-value",
            "A turn is of the jack at one corner; wedge itself goes by %.",
            where=option,
            hint=f"{option} wedge -1%, or {option} RR 1 round out".replace("  ", " ").strip(),
        )
    if unit and unit not in knobs.UNITS[knob.unit]:
        raise Refusal(
            "bad-value",
            f"{knob.name} is not changed by {quoted(unit)}, but by {knob.unit}.",
            where=option,
            hint=example,
        )
    return (-size if read["sign"] == "-" else size) * (knobs.UNITS[knob.unit][unit] if unit else 1)


def came_out(text: str, wanted: Sequence[Change], option: str) -> list[tuple[str, str, float]]:
    """Read what changes came out at; of one by itself, trims aside, a number alone will do.

    That is its amount, the same way as chosen where no sign is typed; or the setting it came to,
    where it can hardly be anything else.

    Raises
    ------
    Refusal
        Names what is wrong and shows an example.
    """
    words = re.split(r"[\s:=,;]+", text.lower())
    own = [change for change in wanted if not change.trim]
    known = (*KNOBS, *_PLACES, knobs.OTHER)
    if len(own) != 1 or any(word in known for word in words):
        return parse_all(text, option)
    (change,) = own
    if change.is_other:
        return [_anything(f"{change.corner}: {text}", option)]
    if not {*words}.isdisjoint((*_WAYS, *knobs.UNITS["hole"])):
        ((knob, place, by),) = parse_all(f"{change.knob} {change.corner} {text}", option)
        if {*words}.isdisjoint(_WAYS):
            by = _the_same_way(text, by, change)
        return [(knob, place, by)]
    typed = _number(text, change.knob, f"{change.amount / 2:+g}", change.knob)
    meant = _setting_meant(typed, change)
    if meant is None:
        meant = _the_same_way(text, typed, change)
    _refuse_size(change.knob, meant, change.knob)
    return [(*change.setting, tidy(meant))]


def _setting_meant(typed: float, change: Change) -> float | None:
    """Return the amount that leads to a number typed, where it can only be the setting."""
    if change.before is None or change.after is None or not typed:
        return None
    size = abs(change.amount)
    is_setting = abs(typed - change.after) <= size and abs(typed - change.amount) > 2 * size
    return tidy(typed - change.before) if is_setting else None


def _the_same_way(text: str, typed: float, like: Change) -> float:
    """Return an amount as typed; without a sign it goes the way of the change."""
    return typed if text.strip()[:1] in "+-−–" else math.copysign(typed, like.amount)


def amount_like(text: str, option: str, like: Change) -> float:
    """Read another amount of a change; one typed without a sign goes the same way.

    Raises
    ------
    Refusal
        See `amount`.
    """
    typed = amount(text, option, f"{like.amount / 2:+g}", like.knob)
    return _the_same_way(text, typed, like)


def amount(text: str, option: str, example: str, knob: str) -> float:
    """Read an amount of a change, with its unit or without.

    Raises
    ------
    Refusal
        It is no number, or larger than any knob is moved.
    """
    value = _number(text, option, example, knob)
    _refuse_size(knob, value, option)
    return tidy(value)


def _number(text: str, option: str, example: str, knob: str) -> float:
    """Return a number in the unit of a knob, however large."""
    value = _in_unit_of(
        KNOBS[knob], re.sub("[−–]", "-", text.strip()), option, f"for example {example}"
    )
    return value if math.isfinite(value) else typed.number(text, option, example)


def _refuse_size(knob: str, amount: float, option: str) -> None:
    largest, unit = knobs.of(knob).largest, knobs.of(knob).unit
    if abs(amount) > largest:
        raise Refusal(
            "bad-value",
            f"{knob} is not changed by {amount:+g} {unit} at once.",
            where=option,
            hint=f"at most {largest:g} {unit}, either way",
        )
    if amount and not knobs.rounded(knob, amount):
        least = 10.0 ** -knobs.of(knob).decimals
        raise Refusal(
            "bad-value",
            f"{amount:+g} {unit} is too little to show on {knob}.",
            where=option,
            hint=f"at least {least:g} {unit}, either way; 0 is no change",
        )


def _refuse_slip(change: Change, option: str) -> None:
    """Refuse an amount that is too large, or that leads where no car can be set."""
    _refuse_size(change.knob, change.amount, option)
    knob, before, after = knobs.of(change.knob), change.before, change.after
    if before is None or after is None or _out(knob, after) <= _out(knob, before):
        return
    raise Refusal(
        "bad-value",
        f"{change.corner} {change.knob} would go from {before:g} to {after:g} {knob.unit}, which "
        "cannot be.",
        where=f"{option} {change.knob}:{change.corner}",
        hint=f"a setting from {knob.lowest:g} to {knob.highest:g} {knob.unit}; if the plan has the "
        "present one wrong, correct that first with treadgate amend",
    )


def stepped(amount: float, step: float, most: float) -> float:
    """Return the amount as a whole number of steps: at least one, at most `most`."""
    if amount == 0:
        return 0.0
    steps = max(1.0, math.floor(abs(amount) / step + 0.5))
    steps = min(steps, math.floor(most / step + 1e-9))
    return tidy(math.copysign(max(steps, 1.0) * step, amount))


def between_steps(made: Iterable[Change], room: RoomAt) -> tuple[BetweenSteps, ...]:
    """Return the changes that are no whole number of the smallest steps of the car file."""
    found = []
    for change in made:
        step = room(*change.setting).step
        if step is None:
            continue
        steps = abs(change.amount) / step
        if abs(steps - round(steps)) * step > 10.0 ** -(KNOBS[change.knob].decimals + 1):
            found.append(BetweenSteps(change.setting, change.amount, step))
    return tuple(found)


def beyond_rules(made: Iterable[Change], room: RoomAt) -> tuple[BeyondRules, ...]:
    """Return the changes that lead past an end of the rules file, or on past it."""
    found = []
    for change in made:
        _, cut = within(change.knob, change.amount, change.before, room(*change.setting), 1e-6)
        if cut is not None and cut.whose == "rules" and change.after is not None:
            found.append(BeyondRules(change.setting, change.after, cut.edge, cut.highest))
    return tuple(found)


def within(
    knob: str, amount: float, before: float | None, room: Room, step: float
) -> tuple[float, Cut | None]:
    """Cut an amount so that the setting stays within its limits, and within what can be set at all.

    Parameters
    ----------
    knob, amount : what is to be turned, by how much.
    before : where it stands; nothing is cut where that is not known.
    room : how far it may go.
    step : what is left is a whole number of these.

    Returns
    -------
    tuple
        The amount that is left (whole steps, perhaps 0), and what cut it, if anything did.
    """
    if before is None or amount == 0:
        return amount, None
    there, up = knobs.of(knob), amount > 0
    own = room.max if up else room.min
    edge = there.highest if up else there.lowest
    whose: Whose = "any-car"
    if own is not None and (own <= edge if up else own >= edge):
        edge, whose = own, "car-file"
        if room.max_by_rules if up else room.min_by_rules:
            whose = "rules"
    space = (edge - before) if up else (before - edge)
    if abs(amount) <= space + 1e-9:
        return amount, None
    left = max(0.0, math.floor(space / step + 1e-9) * step)
    return tidy(math.copysign(left, amount)), Cut(edge, highest=up, whose=whose)


def refuse_beyond_limits(changes: Iterable[Change], room: RoomAt, option: str) -> None:
    """Refuse changes that are slips, or take a setting past a limit of the car file or of any car.

    Past an end of the rules file a crew may go; `beyond_rules` tells it. A solid axle is no limit
    either: other snouts turn its camber.

    Raises
    ------
    Refusal
        Names the setting, the limit, and the most that is left.
    """
    for change in changes:
        _refuse_slip(change, option)
        here = room(*change.setting)
        if here.fixed == "fixed" and change.amount:
            raise Refusal(
                "beyond-limit",
                f"{change.corner} {change.knob} cannot be turned on this car, by the car file.",
                where=f"{option} {change.knob}:{change.corner}, "
                f"limits.{change.knob}.{change.corner}",
                hint="leave it as it is; where it can be turned after all, mend the car file",
            )
        left, cut = within(change.knob, change.amount, change.before, here, 1e-6)
        if cut and cut.whose != "rules" and change.after is not None:
            raise Refusal(
                "beyond-limit",
                f"{change.corner} {change.knob} would go from {change.before:g} to "
                f"{change.after:g} {change.unit}, past the limit in the car file.",
                where=f"{option} {change.knob}:{change.corner}, limits.{change.knob}",
                hint=f"at most {left:+g} from where it is",
            )
