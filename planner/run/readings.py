"""What is recorded of one run: the twelve temperatures and all that goes with them."""

from collections.abc import Mapping
from typing import Literal, get_args

import attrs

from planner.trade import numbers, units
from planner.trade.corners import CORNERS, STRIPS, Corner, Strip, Three, was_read
from planner.trade.estimate import Estimate
from planner.trade.numbers import Number
from planner.trade.refusals import Refusal, quoted

Feel = Literal["tight", "neutral", "loose"]
Phase = Literal["entry", "middle", "exit"]
Part = Literal["all", "entry", "middle", "exit"]
Flag = Literal["lockup", "swerve", "traffic", "caution"]
TreadUnit = Literal["32nds", "percent"]
SetState = Literal["new", "scuffed", "heat-cycled"]

FEELS: tuple[Feel, ...] = get_args(Feel)
PHASES: tuple[Phase, ...] = get_args(Phase)
FLAGS: tuple[Flag, ...] = get_args(Flag)
SET_STATES: tuple[SetState, ...] = get_args(SetState)
PARTS: tuple[Part, ...] = get_args(Part)
WHOLE: Part = "all"  # the corner as a whole, where the driver named no part of it

# After these the tires no longer show what the car's setup did to them.
SPOILING: tuple[Flag, ...] = ("lockup", "swerve")

LEAST_AIR = 5.0  # psi; less is a slip, another unit or a flat tire; from memory
MOST_NAME = 20  # letters of the name of a set of tires
MOST_WORDS = 10_000  # letters of a note or a reason: four pages; a book is a slip of the clipboard


@attrs.frozen
class Again:
    """The first tire read once more at the end of the reading round [degF]."""

    corner: Corner
    tire: Three


@attrs.frozen
class Run:
    """One run as the crew recorded it.

    Attributes
    ----------
    tires : inner, middle, outer [degF] at each corner; `UNREAD` where one was not taken.
    laps : laps run; None means as many as planned.
    lap_times : [s], in order.
    cold, hot : pressures [psi] at the corners where they were read.
    tread, tread_before : tread after and before the run, inner/middle/outer, in `tread_unit`.
    track_temp, air_temp : [degF].
    delay : time from stop to the first reading [s].
    order : the order in which the tires were read.
    again : the first tire read again at the end.
    set, set_state : the set of tires it was on, where that was said (else that of the run before),
        and what the set is.
    felt : the driver's word for each part of the corner that he spoke of, or for all of it.
    """

    tires: Mapping[Corner, Three]
    laps: int | None = None
    lap_times: tuple[float, ...] = ()
    cold: Mapping[Corner, float] = attrs.field(factory=dict)
    hot: Mapping[Corner, float] = attrs.field(factory=dict)
    tread: Mapping[Corner, Three] = attrs.field(factory=dict)
    tread_before: Mapping[Corner, Three] = attrs.field(factory=dict)
    tread_unit: TreadUnit = "32nds"
    track_temp: float | None = None
    air_temp: float | None = None
    delay: float | None = None
    order: tuple[Corner, ...] = ()
    again: Again | None = None
    set: str = ""
    set_state: SetState | None = None
    felt: Mapping[Part, Feel] = attrs.field(factory=dict)
    flags: tuple[Flag, ...] = ()
    note: str = ""

    @property
    def feel(self) -> Feel | None:
        """The driver's word; the first along the corner where he had several."""
        return next((self.felt[part] for part in PARTS if part in self.felt), None)

    @property
    def where(self) -> Phase | None:
        """The part of the corner that `feel` is of; None where he named none."""
        first = next((part for part in PARTS if part in self.felt), WHOLE)
        return next((phase for phase in PHASES if phase == first), None)

    @property
    def felt_alone(self) -> Feel | None:
        """Tight or loose, where the driver felt only one of them; None where neither, or both."""
        ways: tuple[Feel, ...] = ("tight", "loose")
        felt = [feel for feel in ways if feel in self.felt.values()]
        return felt[0] if len(felt) == 1 else None

    def where_felt(self, feel: Feel) -> Phase | None:
        """Return the part of the corner that a word is of; None where that is not just one."""
        parts = [part for part, said in self.felt.items() if said == feel]
        return next((phase for phase in PHASES if parts == [phase]), None)

    def felt_in(self, phase: Phase) -> Feel | None:
        """Return the driver's word for a part of the corner, or the one he had for all of it."""
        return self.felt.get(phase, self.felt.get(WHOLE))


@attrs.frozen
class Void:
    """Why a run judges nothing.

    Attributes
    ----------
    flags : that spoil it.
    laps, planned : laps run where they were too few, else None; and laps planned.
    """

    flags: tuple[Flag, ...] = ()
    laps: int | None = None
    planned: int = 0

    @property
    def cautions(self) -> tuple[str, ...]:
        """The keys of the cautions that such a run calls for."""
        found = (("spoiled", bool(self.flags)), ("short", self.laps is not None))
        return tuple(key for key, applies in found if applies)


@attrs.frozen
class ReadLate:
    """The first tire was read so late that the readings count for less.

    Attributes
    ----------
    corner : the first tire, where the order is known.
    delay : from the stop to the first reading [s].
    """

    corner: Corner | None
    delay: float


@attrs.frozen
class NotPutBack:
    """The second reading of the first tire cannot be used, so nothing is corrected.

    Attributes
    ----------
    change : second reading less the first, averages [degF].
    within : time between the two [s].
    """

    corner: Corner
    why: Literal["order-not-known", "not-read", "near-air", "heats-up", "too-fast"]
    change: float
    within: float


@attrs.frozen
class FewLaps:
    """Fewer laps were run than planned, but enough: the readings count for a little less."""

    laps: int
    planned: int


@attrs.frozen
class NotRead:
    """A tire, or some of its strips, that nobody read: what needs them is not known."""

    corner: Corner
    strips: tuple[Strip, ...]


ReadingRemark = ReadLate | NotPutBack | FewLaps | NotRead


@attrs.frozen
class Settled:
    """Readings corrected to the moment of the first one.

    Attributes
    ----------
    tires : inner, middle, outer [degF].
    extra_variance : of each single reading at a corner, beyond the noise's [degF²].
    level_variance : common to the three readings of a tire [degF²].
    common_variance : common to all tires of the run [degF²].
    rate : the cooling rate; None where it was not measured.
    remarks : what the crew should know.
    """

    tires: Mapping[Corner, Three]
    extra_variance: Mapping[Corner, float] = attrs.field(factory=dict)
    level_variance: Mapping[Corner, float] = attrs.field(factory=dict)
    common_variance: float = 0.0
    rate: Estimate | None = None
    remarks: tuple[ReadingRemark, ...] = ()


def not_read(tires: Mapping[Corner, Three]) -> tuple[NotRead, ...]:
    """Return what was not read of the tires."""
    missing = {
        corner: tuple(s for s, value in zip(STRIPS, tire, strict=True) if not was_read(value))
        for corner, tire in tires.items()
    }
    return tuple(NotRead(corner, strips) for corner, strips in missing.items() if strips)


def check(run: Run, system: units.System = "us") -> None:
    """Refuse a run that cannot be true.

    Parameters
    ----------
    system : units the refusal is written in.

    Raises
    ------
    Refusal
        Names the first value that is impossible, and what to type instead.
    """
    missing = [corner for corner in CORNERS if corner not in run.tires]
    if missing:
        raise Refusal(
            "missing-tire",
            f"No readings for {', '.join(missing)}: all four tires are needed.",
            where="--tire",
            hint=" ".join(f"--tire {corner}=inner/middle/outer" for corner in missing)
            + f"; --tire {missing[0]}=- where it was not read",
        )
    for corner in CORNERS:
        for strip, value in zip(STRIPS, run.tires[corner], strict=True):
            if not was_read(value):
                continue
            _temperature(value, numbers.TIRE_TEMPERATURE, f"--tire {corner} {strip}", system)
    if not any(was_read(value) for tire in run.tires.values() for value in tire):
        raise Refusal(
            "missing-tire",
            "No tire was read: there is nothing to record.",
            where="--tire",
            hint="--tire RF=inner/middle/outer",
        )
    if run.again is not None:
        for strip, value in zip(STRIPS, run.again.tire, strict=True):
            _temperature(
                value, numbers.TIRE_TEMPERATURE, f"--again {run.again.corner} {strip}", system
            )
    for option, pressures in (("--cold", run.cold), ("--hot", run.hot)):
        for corner, value in pressures.items():
            if numbers.PRESSURE.holds(value) or not _is_in_kpa(value):
                _within(value, numbers.PRESSURE, f"{option} {corner}", "a pressure in psi")
                continue
            raise Refusal(
                "bad-value",
                f"{value:g} cannot be a pressure in psi.",
                where=f"{option} {corner}",
                hint=f"{value:g}kPa if it is in kPa",
            )
    tread = numbers.TREAD_LEFT if run.tread_unit == "percent" else numbers.TREAD_DEPTH
    for option, treads in (("--tread", run.tread), ("--tread-before", run.tread_before)):
        for corner, three in treads.items():
            for strip, value in zip(STRIPS, three, strict=True):
                _within(value, tread, f"{option} {corner} {strip}", "a tread depth")
    for option, weather in (("--track-temp", run.track_temp), ("--air-temp", run.air_temp)):
        if weather is not None:
            _temperature(weather, numbers.WEATHER, option, system)
    if not numbers.LAPS_RUN.holds(len(run.lap_times)):
        raise Refusal(
            "bad-value",
            f"{len(run.lap_times)} lap times are too many.",
            where="--lap-times",
            hint=f"those of this run; at most {numbers.LAPS_RUN.high}",
        )
    for number, lap in enumerate(run.lap_times, start=1):
        _within(lap, numbers.LAP_TIME, f"--lap-times, lap {number}", "a lap time in seconds")
    if run.delay is not None:
        _within(run.delay, numbers.DELAY, "--delay", "a delay in seconds")
    if len(run.set) > MOST_NAME:
        raise Refusal(
            "bad-value",
            f"{quoted(run.set)} does not name a set of tires.",
            where="--set",
            hint=f"1 to {MOST_NAME} letters, such as --set 2",
        )
    if run.laps is not None and not numbers.LAPS_RUN.holds(run.laps):
        raise Refusal(
            "bad-value",
            f"{quoted(str(run.laps))} laps is not possible.",
            where="--laps",
            hint=f"a number from 0 to {numbers.LAPS_RUN.high}, such as --laps 10",
        )
    if len(set(run.order)) != len(run.order):
        raise Refusal(
            "bad-value",
            "The reading order names a tire twice.",
            where="--order",
            hint="--order LF,LR,RR,RF",
        )
    if run.again is not None and run.order and run.again.corner != run.order[0]:
        raise Refusal(
            "bad-value",
            f"--again is for the tire read first ({run.order[0]}), not {run.again.corner}.",
            where="--again",
            hint=f"--again {run.order[0]}=inner/middle/outer",
        )


def check_temperature(value: float, where: str, system: units.System) -> None:
    """Refuse a temperature of a tire [degF] that no probe reads, in the unit it was typed in.

    Raises
    ------
    Refusal
        Names where it stands, and what could be there.
    """
    _temperature(value, numbers.TIRE_TEMPERATURE, where, system)


def _temperature(value: float, number: Number, where: str, system: units.System) -> None:
    """Refuse an impossible temperature [degF] in the unit it was typed in."""
    if system == "us" and number.holds(value):
        return
    typed = round(units.in_plan_unit(value, system), 6)
    low, high = (round(units.in_plan_unit(bound, system)) for bound in (number.low, number.high))
    shown = attrs.evolve(number, low=low, high=high)
    _within(typed, shown, where, f"a temperature in {units.degree_mark(system)}")


def _within(value: float, number: Number, where: str, what: str) -> None:
    if number.holds(value):
        return
    hint = f"a number from {number.low:g} to {number.high:g}"
    if value > number.high and number.holds(value / 10):
        hint += f" (a digit too many? {value / 10:g})"
    raise Refusal("bad-value", f"{value:g} cannot be {what}.", where=where, hint=hint)


def _is_in_kpa(value: float) -> bool:
    """Say whether what cannot be psi is a tire's pressure in kPa."""
    psi = value / units.KPA_PER_PSI
    return psi >= LEAST_AIR and numbers.PRESSURE.holds(psi)


def why_void(run: Run, planned: int, least_laps: int) -> Void | None:
    """Return why the run cannot judge the setup; None when it can.

    A run with locked brakes or a swerve heats tires in a way the setup did not; one of fewer
    laps than the rules' least has not brought them near temperature (common practice, no source).
    """
    flags = tuple(flag for flag in run.flags if flag in SPOILING)
    least = min(least_laps, planned)
    laps = run.laps if run.laps is not None and run.laps < least else None
    return Void(flags, laps, planned) if flags or laps is not None else None
