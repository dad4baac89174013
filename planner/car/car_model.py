"""What this car's scales, springs, dimensions and track say about a change.

Between the rules of thumb and the learned response stands the computation: `CarModel.effects` gives
what a change does to the tire averages, `CarModel.basis` which keys of the car file it would need
where it cannot. What a change means at the car is in `at_the_car`, what a file tells in `known`.
"""

from collections.abc import Mapping
from functools import cached_property
from math import hypot
from typing import TYPE_CHECKING, cast

import attrs

from planner.car.basis import Basis, BasisKind
from planner.car.car_file import Car
from planner.car.changes import Setting
from planner.run.readings import Run
from planner.trade.corners import CORNERS, Corner, Turns, per_corner
from planner.trade.estimate import Estimate
from planner.trade.refusals import Refusal

if TYPE_CHECKING:  # loaded when a car file calls for them, so that other commands stay quick
    from planner.chassis.at_rest import AtRest, Jack
    from planner.chassis.grip import Balance
    from planner.chassis.loads import TurnCar
    from planner.chassis.mid_turn import MidTurn
    from planner.chassis.turn import Turn

# The tire model is simple and part of the heat does not come from cornering: a computed effect is
# taken as this share of what the model says, with this relative spread. From memory, wide. The
# share is one number of the car, so that what is not known of it is common to all effects: see
# `learning.families`.
HEAT_SHARE = 0.8
SPREAD = 0.5
LEAST_SPREAD = 0.3  # degF per smallest step's worth of change

# What the car file says nothing of, or gives as a height of its own: counted from there.
COUNTED_FROM_THE_FILE: tuple[Setting, ...] = (
    ("ballast", "rear"),
    ("ballast", "left"),
    ("panhard", "rear"),
)

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
# A change small enough for a slope, and the usual smallest step, in the knob's unit.
_SMALL = {
    "spring": 10.0,
    "bar": 10.0,
    "cross": 0.25,
    "ballast": 10.0,
    "stagger": 0.1,
    "panhard": 0.25,
}
_STEP = _SMALL | {"spring": 25.0, "bar": 25.0, "stagger": 0.25}
COMPUTED_KNOBS = tuple(_SMALL)


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


def with_spread(slope: float, knob: str, between: float = 0.0) -> Estimate:
    """Return a computed slope with its spread [degF per unit of the knob].

    Parameters
    ----------
    between : spread among the cars that the slope is a mean of, beside the model's own.
    """
    return Estimate(slope, hypot(SPREAD * slope, LEAST_SPREAD / _STEP[knob], between))


@attrs.frozen
class CarModel:
    """A car as it stands now.

    Attributes
    ----------
    car : the plan's copy of the car file.
    settings : what is on the car now.
    moved : total displacement of every setting since the day began (for ballast and panhard bar).
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

    def basis(self, knob: str) -> Basis:
        """Return what an effect of this knob rests on: the car file, or a rule of thumb."""
        if knob not in COMPUTED_KNOBS or self.turns == "both":
            return Basis("rule-of-thumb")
        missing = missing_for_effects(self.car, self.settings)
        if not missing and knob == "stagger" and ("stagger", "rear") not in self.settings:
            missing = ("settings.stagger",)
        if not missing and knob == "panhard":
            missing = self._heights_missing()
        trouble = "" if missing else self.trouble()
        kind: BasisKind = "rule-of-thumb" if missing or trouble else "computed"
        return Basis(kind, missing, trouble)

    def _heights_missing(self) -> tuple[str, ...]:
        """Return the heights that the answer to the panhard bar would need."""
        size = self.car.dimensions
        known = {
            "dimensions.cg_height": size.cg_height is not None,
            "dimensions.roll_center_rear": size.roll_center_rear is not None
            or "rear" in self.car.settings.get("panhard", {}),
        }
        return tuple(key for key, is_known in known.items() if not is_known)

    def trouble(self) -> str:
        """Return why the car as given cannot take the turn as given, or ``""``."""
        try:
            _ = self._now
        except Refusal as refusal:
            return refusal.message
        return ""

    def effects(self, knob: str, place: str) -> dict[str, Estimate] | None:
        """Return the effect per unit of the knob on the tire averages [degF per unit].

        None where the car file does not allow it, or the knob does not act through the loads.
        """
        if self.basis(knob).kind != "computed":
            return None
        slopes = self.slopes(knob, place)
        if slopes is None:
            return None
        return {name: with_spread(slope, knob) for name, slope in slopes.items()}

    def slopes(self, knob: str, place: str) -> dict[str, float] | None:
        """Return what the formulas make of one unit of a knob [degF per unit of the knob].

        None where they cannot hold the car, e.g. with a tire colder than the air. What the
        formulas need must be known; see `basis`.
        """
        from planner.chassis import grip

        unit = _SMALL[knob]
        air = grip.AIR_F if self.run.air_temp is None else self.run.air_temp
        try:
            # Half a step to either side, so that a wheel about to lift does not hide the slope.
            up, down = (
                grip.temperature_shift(
                    self._now,
                    self._balance(self._changed(self._present, knob, place, half)),
                    self.averages,
                    air,
                )
                for half in (unit / 2, -unit / 2)
            )
        except Refusal:
            return None
        return {
            f"average.{corner}": HEAT_SHARE * (up[corner] - down[corner]) / unit
            for corner in CORNERS
            if corner in up and corner in down
        }

    @cached_property
    def _present(self) -> "TurnCar":
        return self._turn_car()

    @cached_property
    def _now(self) -> "Balance":
        return self._balance(self._present)

    def _balance(self, built: "TurnCar") -> "Balance":
        """Return the balance in the turn; where the track turns both ways, with the work of both.

        A tire gathers heat in left and right turns alike, so that their work adds up.
        """
        from planner.chassis import grip

        found = grip.balance(built, self._turn())
        if self.turns != "both":
            return found
        other = grip.balance(built, attrs.evolve(self._turn(), direction="right")).work
        return attrs.evolve(found, work=per_corner(lambda c: found.work[c] + other[c]))

    def mid_turn(self, moves: Mapping[Setting, float] = {}) -> "MidTurn | None":
        """Return loads, cross weight, front share and lift-off in the middle of the turn.

        Parameters
        ----------
        moves : what to turn on the car first, by setting [unit of the knob]; with none it is the
            car as it stands. A knob that moves no load changes nothing.

        Returns
        -------
        MidTurn or None
            None where the car file says too little, the track turns both ways, or the car as it
            would be cannot take the turn.
        """
        from planner.chassis import mid_turn

        if self.turns == "both" or missing_for_effects(self.car, self.settings):
            return None
        try:
            car = self._turn_car()
            for (knob, place), amount in moves.items():
                car = self._changed(car, knob, place, amount)
            return mid_turn.mid_turn(car, self._turn())
        except Refusal:
            return None

    def travel(self, place: str) -> tuple[float, float]:
        """Return how far ballast is taken to move, rearward and leftward [in, or share]."""
        size = self.car.dimensions
        if place == "rear":
            return BALLAST_TRAVEL * (size.wheelbase or 1.0), 0.0
        tracks = (size.track_front, size.track_rear)
        wide = (tracks[0] + tracks[1]) / 2 if tracks[0] and tracks[1] else 1.0
        return 0.0, BALLAST_TRAVEL * wide

    def loads(self) -> dict[Corner, float]:
        """Return the corner weights with the cross weight that is on the car now [lb]."""
        from planner.chassis import weights

        return dict(
            weights.loads_for_cross(
                self.car.scales,
                self.settings["cross", "car"],
                track_ratio=self.car.dimensions.track_ratio,
            )
        )

    def on_known_springs(self) -> bool:
        """Say whether scales and springs are known."""
        return bool(self.car.scales) and all(("spring", c) in self.settings for c in CORNERS)

    def at_rest(self) -> "AtRest":
        """Return the car as it stands; the scales must be known."""
        from planner.chassis.at_rest import EQUALLY_STIFF, AtRest, Suspension

        rates, size = self.car.tires.rate, self.car.dimensions
        suspension = EQUALLY_STIFF
        if self.on_known_springs():
            suspension = Suspension(
                {corner: self.settings["spring", corner] for corner in CORNERS},
                {corner: self.car.motion_ratio.get(corner, 1.0) for corner in CORNERS},
                tire_rates=rates if len(rates) == len(CORNERS) else None,
                bar_front=self.settings.get(("bar", "front"), 0.0),
                bar_rear=self.settings.get(("bar", "rear"), 0.0),
                base_front=_share(size.spring_base_front, size.track_front),
                base_rear=_share(size.spring_base_rear, size.track_rear),
            )
        return AtRest(
            loads=self.loads(),
            suspension=suspension,
            wheelbase=size.wheelbase,
            track_front=size.track_front,
            track_rear=size.track_rear,
            cg_height=size.cg_height,
        )

    def jack(self) -> "Jack":
        """Return the weight jacks."""
        from planner.chassis.at_rest import JACK_PITCH, Jack

        return Jack(self.car.jack.pitch or JACK_PITCH)

    def _turn(self) -> "Turn":
        from planner.chassis.turn import Turn

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

        built = car_in_turn(self.car, self.settings, self.loads())
        for knob, place in COUNTED_FROM_THE_FILE:
            built = self._changed(built, knob, place, self.moved.get((knob, place), 0.0))
        return built

    def _changed(self, present: "TurnCar", knob: str, place: str, amount: float) -> "TurnCar":
        """Return the car in the turn with one knob turned."""
        from planner.car.in_turn import turned

        ratio = self.car.motion_ratio.get(cast(Corner, place), 1.0)
        travel = max(self.travel(place))
        return turned(present, (knob, place), amount, ratio=ratio, travel=travel)


def _share(base: float | None, track: float | None) -> float:
    """Return the spring base over the track [-]; 1 where one of them [in] is not known."""
    return 1.0 if base is None or track is None else base / track
