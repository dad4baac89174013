"""How the car stands: its springs, scales and jacks, as every jack worksheet takes them."""

from collections.abc import Mapping, Sequence
from typing import cast

import attrs

from planner.car.usual import FEW_TURNS, JACK_TRAVEL
from planner.chassis import jacking
from planner.chassis.at_rest import AtRest, Jack, Suspension, track_ratio
from planner.chassis.jacking import JackResponse
from planner.trade.cautions import CAUTIONS
from planner.trade.corners import CORNERS, Corner
from planner.worksheets.inputs import Known
from planner.worksheets.quantities import ENDS, QUANTITIES
from planner.worksheets.reading import missing
from planner.worksheets.worksheet import Part, Row, Worksheet

_SETTLE = (
    "Rigid chassis on four springs: each wheel rate = spring rate * motion ratio², in series with "
    "its tire, bars across each axle; the springs of a solid axle count in roll by (spring base / "
    "track)²; heave, pitch and roll balance force and moments. Wheel "
    "rate: Milliken and Milliken, Race Car Vehicle Dynamics, ch. 16 (from memory); statics "
    "derived."
)

_SIGN = "Turns: + is screwed in, which raises that corner."

SPRINGS = (
    *("spring", "motion_ratio", "tire_rate", "bar"),
    *("spring_base_front", "spring_base_rear"),
)
TRACKS = ("track_front", "track_rear")


def suspension_of(known: Known) -> Suspension | None:
    """Return springs, motion ratios, tires and bars; None when the springs are not known."""
    spring = known.corners("spring")
    if spring is None:
        return None
    bar = known.taken_places("bar", ENDS, 0.0)
    ratios = known.taken_places("motion_ratio", CORNERS, 1.0)
    return Suspension(
        spring,
        cast(dict[Corner, float], ratios),
        tire_rates=known.corners("tire_rate"),
        bar_front=bar["front"],
        bar_rear=bar["rear"],
        base_front=_base(known, "front"),
        base_rear=_base(known, "rear"),
    )


def _base(known: Known, end: str) -> float:
    """Return the spring base of an axle over its track; 1 where it is not known."""
    name, track = f"spring_base_{end}", known.number(f"track_{end}")
    base = known.number(name)
    if base is None:
        return 1.0
    if track is None:
        if known.typed(name):
            raise missing(QUANTITIES[f"track_{end}"])
        known.drop(name)
        return 1.0
    return base / track


@attrs.frozen(kw_only=True)
class Stand:
    """How the car stands.

    Attributes
    ----------
    known : the inputs, as far as they are asked for.
    suspension : springs, motion ratios, tires and bars.
    scales : scale reading per corner [lb]; empty where not known.
    jack : the weight jacks and the hand that turns them.
    tracks : front and rear [in], where known.
    """

    known: Known
    suspension: Suspension
    scales: Mapping[Corner, float]
    jack: Jack
    tracks: tuple[float | None, float | None]

    @property
    def car(self) -> AtRest:
        """The car on its scales, which must be known."""
        front, rear = self.tracks
        return AtRest(
            loads=self.scales, suspension=self.suspension, track_front=front, track_rear=rear
        )

    def response(self, travel: Mapping[Corner, float]) -> JackResponse:
        """Return what perch travel does [in]."""
        return jacking.jack_response(self.suspension, travel, track_ratio=track_ratio(*self.tracks))

    def sheet(
        self,
        title: str,
        asked: tuple[Row, ...],
        equations: Sequence[str],
        results: Sequence[Part],
        remarks: Sequence[str] = (),
        doubts: Sequence[str] = (),
    ) -> Worksheet:
        """Return the worksheet, with what every one of these shows."""
        inputs = self.known.rows("scales", *SPRINGS, *TRACKS, "pitch", "step")
        return Worksheet(
            work="jack",
            title=title,
            inputs=asked + inputs,
            equations=(_SETTLE, *equations),
            results=results,
            doubts=doubts,
            remarks=(_SIGN, *remarks, *self._without()),
            cautions=(CAUTIONS["stands"],),
        )

    def _without(self) -> tuple[str, ...]:
        """Say what is left out for want of numbers."""
        said = []
        if self.suspension.tire_rates is None:
            said.append("Tires are assumed rigid (--tire-rate, tires.rate).")
        if "track_front" not in self.known.values:
            said.append("Tracks are assumed equal (--track-front, --track-rear).")
        return tuple(said)

    def far(self, turns: Mapping[Corner, float]) -> tuple[str, ...]:
        """Ask about turns that go beyond what a jack has, or wind up a bar that is hooked."""
        most = max((abs(turn) for turn in turns.values()), default=0.0)
        travel = most * self.jack.pitch
        said = []
        if travel > JACK_TRAVEL:
            said.append(
                f"{most:g} turns are {travel:.1f} in of jack travel, more than most have (from "
                "memory): move the spring seat, or change the spring or its length."
            )
        elif most > FEW_TURNS:
            said.append(
                f"{most:g} turns at once are many (from memory): is it {most:g}? Turn a few, "
                "settle the car and weigh it."
            )
        bars = {"front": self.suspension.bar_front, "rear": self.suspension.bar_rear}
        hooked = [end for end, rate in bars.items() if rate > 0]
        if most > FEW_TURNS and hooked:
            ends, they = " and ".join(hooked), "they wind" if len(hooked) > 1 else "it winds"
            said.append(
                f"Is the {ends} bar hooked? With every turn {they} up: unhook one end first "
                f"(--bar {hooked[0]}=0), and set the link without load afterwards."
            )
        return tuple(said)
