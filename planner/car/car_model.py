"""What this car's scales, springs, dimensions and track say about a change.

Between the rules of thumb and the learned response stands the computation: `effects` gives what a
change does to the tire averages, `how` what it means at the car (turns of the jack, the hot
pressure to expect). Each says which keys of the car file it would need where it cannot answer.
"""

from collections.abc import Mapping
from math import sqrt
from typing import TYPE_CHECKING, Protocol, cast

import attrs

from planner.car import car_file
from planner.car.car_file import Car, Dimensions
from planner.car.changes import Change, Setting
from planner.run.readings import Run
from planner.trade.corners import CORNERS, Corner, Turns
from planner.trade.estimate import Estimate
from planner.trade.knobs import KNOBS
from planner.trade.refusals import Refusal

if TYPE_CHECKING:  # loaded when a car file calls for them, so that other commands stay quick
    from planner.chassis.jacking import Suspension
    from planner.chassis.loads import Turn, TurnCar

# The tire model is simple and part of the heat does not come from cornering: a computed effect is
# taken as this share of what the model says, with this relative spread. From memory, wide.
HEAT_SHARE = 0.8
SPREAD = 0.5
LEAST_SPREAD = 0.3  # degF per smallest step's worth of change

# How far ballast is taken to move when nothing else is known: half the wheelbase, half the track.
BALLAST_TRAVEL = 0.5

FOR_EFFECTS = (
    "[scales]",
    "settings.spring",
    "dimensions.wheelbase",
    "dimensions.track_front",
    "dimensions.track_rear",
    "track.radius",
    "track.corner_speed",
)
# A change small enough for a slope, in the knob's unit.
_SMALL = {"spring": 10.0, "bar": 10.0, "cross": 0.25, "ballast": 10.0, "stagger": 0.1}
COMPUTED_KNOBS = tuple(_SMALL)


class Model(Protocol):
    """What candidates ask about a car."""

    def effects(self, knob: str, place: str) -> dict[str, Estimate] | None:
        """Return the effect per unit on the base figures; None where it cannot be computed."""
        ...

    def basis(self, knob: str) -> str:
        """Say what an effect of this knob rests on."""
        ...

    def how(self, change: Change) -> tuple[str, ...]:
        """Say what the change means at the car."""
        ...


def missing_for_effects(car: Car, settings: Mapping[Setting, float]) -> tuple[str, ...]:
    """Return the keys of the car file that computing the effects would need.

    Parameters
    ----------
    settings : what is on the car now.
    """
    known = {
        "[scales]": bool(car.scales),
        "settings.spring": all(("spring", corner) in settings for corner in CORNERS),
        "dimensions.wheelbase": car.dimensions.wheelbase is not None,
        "dimensions.track_front": car.dimensions.track_front is not None,
        "dimensions.track_rear": car.dimensions.track_rear is not None,
        "track.radius": car.track.radius is not None,
        "track.corner_speed": car.track.corner_speed is not None,
    }
    return tuple(key for key in FOR_EFFECTS if not known[key])


def understood(car: Car, turns: Turns) -> tuple[str, ...]:
    """Say what a car file has told, and what is computed from it or could be, in sentences.

    Parameters
    ----------
    turns : which way the track turns.

    Returns
    -------
    tuple
        Empty where the file tells nothing of the car beside its name.
    """
    settings = car_file.starting_settings(car)
    if not settings and car.dimensions == Dimensions() and not car.tires.rate:
        return ()
    facts = [f"{len(settings)} settings known"]
    if car.scales:
        from planner.chassis import weights

        split = weights.weigh(car.scales)
        facts.insert(
            0,
            f"{split.total:.0f} lb: front {split.front:.1f} %, left {split.left:.1f} %, cross "
            f"{split.cross:.1f} %",
        )
    lacking = [knob.name for knob in KNOBS.values() if knob.name != "ballast"]
    lacking = [name for name in lacking if not any(knob == name for knob, _ in settings)]
    if lacking:
        facts.append(f"nothing of {', '.join(lacking)}")
    return f"Known of the car: {'; '.join(facts)}.", _computed(car, settings, turns)


def _computed(car: Car, settings: Mapping[Setting, float], turns: Turns) -> str:
    """Say what is computed for a car, what goes by rules of thumb, and what would change that."""
    springs = car.scales and all(("spring", corner) in settings for corner in CORNERS)
    jack = "the turns of the weight jacks" if springs else ""
    missing = missing_for_effects(car, settings)
    if turns == "both":
        answers, thumb = (
            "",
            "The answers of the tires go by rules of thumb: this track turns both ways.",
        )
    elif missing:
        answers = ""
        thumb = (
            "How the tires answer goes by rules of thumb; to cross, springs, bars, ballast and "
            f"stagger it could be computed with {', '.join(missing)}."
        )
    elif trouble := CarModel(car, settings, {}, Run({}), {}, turns).trouble():
        answers = ""
        thumb = f"How the tires answer goes by rules of thumb: {trouble}"
    elif ("stagger", "rear") not in settings:
        answers = "how the tires answer to cross, springs, bars and ballast"
        thumb = "To stagger it could be with settings.stagger."
    else:
        answers = "how the tires answer to cross, springs, bars, ballast and stagger"
        thumb = "To camber, pressure and toe they answer by rules of thumb."
    computed = ", and ".join(filter(None, (jack, answers)))
    return " ".join(filter(None, (computed and f"Computed for it: {computed}.", thumb)))


@attrs.frozen
class CarModel:
    """A car as it stands now.

    Attributes
    ----------
    car : the plan's copy of the car file.
    settings : what is on the car now.
    moved : total displacement of every setting since the day began (for ballast).
    run : the last good run, for averages, air temperature and pressures.
    averages : average of each tire [degF].
    turns : which way the track turns.
    """

    car: Car
    settings: Mapping[Setting, float]
    moved: Mapping[Setting, float]
    run: Run
    averages: Mapping[Corner, float]
    turns: Turns

    def basis(self, knob: str) -> str:
        """Say what an effect of this knob rests on."""
        if knob not in COMPUTED_KNOBS or self.turns == "both":
            return "rule of thumb"
        missing = missing_for_effects(self.car, self.settings)
        if missing == FOR_EFFECTS:
            return (
                "rule of thumb; a car file with scales, springs, sizes and track lets it be "
                "computed"
            )
        if missing:
            return f"rule of thumb; give {', '.join(missing)} in the car file to compute it"
        if knob == "stagger" and ("stagger", "rear") not in self.settings:
            return "rule of thumb; give settings.stagger in the car file to compute it"
        trouble = self.trouble()
        if trouble:
            return f"rule of thumb; by the car file it cannot be computed: {trouble}"
        return (
            "computed from your scales, springs, dimensions and track "
            "(tire grip and heat: a simple model, from memory)"
        )

    def trouble(self) -> str:
        """Say why the car as given cannot take the turn as given, or ``""``."""
        from planner.chassis import grip

        try:
            grip.balance(self._turn_car(), self._turn())
        except Refusal as refusal:
            return refusal.message
        return ""

    def effects(self, knob: str, place: str) -> dict[str, Estimate] | None:
        """Return the effect per unit of the knob on the tire averages [degF per unit].

        None where the car file does not allow it, or the knob does not act through the loads.
        """
        if not self.basis(knob).startswith("computed"):
            return None
        from planner.chassis import grip

        unit = _SMALL[knob]
        try:
            present, turn = self._turn_car(), self._turn()
            # Half a step to either side, so that a wheel about to lift does not hide the slope.
            up, down = (self._changed(present, knob, place, sign * unit) for sign in (0.5, -0.5))
            before = grip.balance(present, turn)
            air = grip.AIR_F if self.run.air_temp is None else self.run.air_temp
            shifts = [
                grip.temperature_shift(before, grip.balance(each, turn), self.averages, air)
                for each in (up, down)
            ]
        except Refusal:
            return None  # beyond what the model can hold, e.g. a tire colder than the air
        effects = {}
        for corner in CORNERS:
            if corner in shifts[0] and corner in shifts[1]:
                slope = HEAT_SHARE * (shifts[0][corner] - shifts[1][corner]) / unit
                spread = sqrt((SPREAD * slope) ** 2 + (LEAST_SPREAD / unit) ** 2)
                effects[f"average.{corner}"] = Estimate(slope, spread)
        return effects

    def how(self, change: Change) -> tuple[str, ...]:
        """Say what the change means at the car: jack turns, hot pressure, kept cross weight."""
        try:
            if change.knob == "cross":
                return self._by_jack(change)
            if change.knob == "spring":
                return self._kept_cross(change)
            if change.knob == "pressure":
                return self._hot_pressure(change)
            if change.knob == "ballast":
                return self._ballast_distance(change)
        except Refusal:
            return ()  # what cannot be computed is left unsaid; the change itself stands
        return ()

    def _by_jack(self, change: Change) -> tuple[str, ...]:
        suspension = self._suspension()
        if suspension is None:
            return ("give [scales] and settings.spring in the car file for the turns of the jack",)
        from planner.chassis import jacking

        now = self._loads()
        cross = self.settings["cross", "car"]
        wanted = cross + change.amount
        jack: Corner = "RR" if self.turns == "right" else "LR"
        pitch = self.car.jack.pitch or jacking.JACK_PITCH
        ratio = self.car.dimensions.track_ratio
        one, all_four = (
            jacking.turns_for_cross(now, wanted, suspension, jacks, pitch=pitch, track_ratio=ratio)
            for jacks in ((jack,), CORNERS)
        )
        turns = _turns(one.turns[jack], one.exact_turns[jack], f"the {jack} jack")
        return (
            f"{turns}: cross {cross:.1f} → {one.cross:.1f} %, from your scales and springs",
            "or with the ride heights kept: "
            + ", ".join(
                _turns(each, each, corner) for corner, each in all_four.turns.items() if each
            )
            + f" (cross {all_four.cross:.1f} %)",
        )

    def _kept_cross(self, change: Change) -> tuple[str, ...]:
        suspension = self._suspension()
        if suspension is None or change.after is None:
            return ("weigh the car again after the spring, and set the cross weight as it was",)
        from planner.chassis import jacking, springs
        from planner.chassis.loads import usual_unsprung

        corner = cast(Corner, change.corner)
        pitch = self.car.jack.pitch or jacking.JACK_PITCH
        loads = self._loads()
        unsprung = usual_unsprung(sum(loads.values()), corner)
        done = springs.spring_change(
            loads,
            suspension,
            corner,
            change.after,
            unsprung=unsprung,
            pitch=pitch,
            track_ratio=self.car.dimensions.track_ratio,
        )
        turns = _turns(done.hand_turns, done.turns, f"the {corner} jack")
        return (
            f"with the jack left alone the cross would go {done.cross_before:.1f} → "
            f"{done.cross_after:.1f} %; {turns} brings back "
            f"{done.hand_cross:.1f} % (springs of the same free length; {unsprung:.0f} lb taken as "
            "unsprung)",
        )

    def _hot_pressure(self, change: Change) -> tuple[str, ...]:
        corner = cast(Corner, change.corner)
        cold, hot = self.run.cold.get(corner), self.run.hot.get(corner)
        if cold is None or hot is None:
            return ()
        from planner.chassis.air import atmospheric_pressure
        from planner.chassis.pressure import belong_together

        if not belong_together(cold, hot):
            return ()  # of a pair that cannot be nothing follows

        outside = atmospheric_pressure(0.0)
        expected = (cold + change.amount + outside) * (hot + outside) / (cold + outside) - outside
        return (
            f"hot should come to {expected:.1f} psi (was {hot:.1f} from {cold:.1f} cold; gas law)",
        )

    def _ballast_distance(self, change: Change) -> tuple[str, ...]:
        from planner.chassis import ballast

        if not self.car.scales:
            return ("give [scales] in the car file to see the new corner weights",)
        back, left = self._travel(change.corner)
        moved = ballast.move_ballast(
            self._loads(),
            change.amount,
            rearward=back,
            leftward=left,
            wheelbase=self.car.dimensions.wheelbase,
            track_front=self.car.dimensions.track_front,
            track_rear=self.car.dimensions.track_rear,
            suspension=self._suspension(),
            cg_height=self.car.dimensions.cg_height,
        )
        span = "wheelbase" if change.corner == "rear" else "track"
        return (
            f"moved by half the {span}: rear {moved.split.rear:.1f} %, left "
            f"{moved.split.left:.1f} %, cross {moved.split.cross:.1f} %",
        )

    def _travel(self, place: str) -> tuple[float, float]:
        """Return how far ballast is taken to move, rearward and leftward [in, or share]."""
        size = self.car.dimensions
        if place == "rear":
            return BALLAST_TRAVEL * (size.wheelbase or 1.0), 0.0
        tracks = (size.track_front, size.track_rear)
        wide = (tracks[0] + tracks[1]) / 2 if tracks[0] and tracks[1] else 1.0
        return 0.0, BALLAST_TRAVEL * wide

    def _loads(self) -> dict[Corner, float]:
        """Return the corner weights with the cross weight that is on the car now [lb]."""
        from planner.chassis import weights

        return dict(
            weights.loads_for_cross(
                self.car.scales,
                self.settings["cross", "car"],
                track_ratio=self.car.dimensions.track_ratio,
            )
        )

    def _suspension(self) -> "Suspension | None":
        """Return the springs and bars, or None where scales or springs are not known."""
        if not self.car.scales or any(("spring", c) not in self.settings for c in CORNERS):
            return None
        from planner.chassis.jacking import Suspension

        rates = self.car.tires.rate
        return Suspension(
            {corner: self.settings["spring", corner] for corner in CORNERS},
            {corner: self.car.motion_ratio.get(corner, 1.0) for corner in CORNERS},
            tire_rates=rates if len(rates) == len(CORNERS) else None,
            bar_front=self.settings.get(("bar", "front"), 0.0),
            bar_rear=self.settings.get(("bar", "rear"), 0.0),
        )

    def _turn(self) -> "Turn":
        from planner.chassis.loads import Turn

        track = self.car.track
        return Turn(
            radius_ft=track.radius or 0.0,
            banking_deg=track.banking or 0.0,
            speed_mph=track.corner_speed or 0.0,
            direction="right" if self.turns == "right" else "left",
        )

    def _turn_car(self) -> "TurnCar":
        """Return the car in the turn, with what is on it now."""
        from planner.car.in_turn import car_in_turn

        built = car_in_turn(self.car, self.settings, self._loads())
        for place in ("rear", "left"):
            built = self._changed(built, "ballast", place, self.moved.get(("ballast", place), 0.0))
        return built

    def _changed(self, present: "TurnCar", knob: str, place: str, amount: float) -> "TurnCar":
        """Return the car in the turn with one knob turned."""
        from planner.car.in_turn import turned

        ratio = self.car.motion_ratio.get(cast(Corner, place), 1.0)
        travel = max(self._travel(place))
        return turned(present, (knob, place), amount, ratio=ratio, travel=travel)


def _turns(number: float, exact: float, jack: str) -> str:
    """Write turns of a jack as a hand makes them, and what they should be where that differs.

    Such as ``1.5 turns into the RR jack``, ``1.75 turns out of the LR jack (exactly 1.86)``.
    """
    size = abs(number)
    word = "turn" if 0 < size <= 1 else "turns"
    beside = f" (exactly {abs(exact):.2f})" if abs(number - exact) >= 0.005 else ""
    return f"{size:g} {word} {'into' if exact > 0 else 'out of'} {jack}{beside}"
