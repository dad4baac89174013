"""A change at the car, in words: how it is done, what goes with it, what it does in the turn."""

from planner.car.at_the_car import (
    AtTheCar,
    BallastMoved,
    CrossFollows,
    HotPressure,
    InTurn,
    JackTurns,
    KeptCross,
    PanhardHoles,
    StaggerFollows,
)
from planner.car.usual import FEW_TURNS, JACK_TRAVEL, SPRING_TRAVEL
from planner.chassis.turn import CEILING_G
from planner.trade.corners import CORNERS


def how(line: AtTheCar) -> tuple[str, ...]:
    """Say what a change means at the car, and what moves with it."""
    if isinstance(line, JackTurns):
        one = _turns(line.turns, line.exact, f"the {line.jack} jack")
        four = ", ".join(_turns(each, each, c) for c, each in line.all_four.items() if each)
        return (
            f"{one}: cross {line.before:.1f} → {line.after:.1f} %, from your scales and springs",
            f"or with the ride heights kept: {four} (cross {line.after_all:.1f} %)",
            *_hooked(line),
            *_too_far(line.travel),
        )
    if isinstance(line, HotPressure):
        return (
            f"expect {line.expected:.1f} psi hot (was {line.hot:.1f} from "
            f"{line.cold:.1f} cold; gas law)",
        )
    if isinstance(line, KeptCross):
        return _cross_moved(line), *_too_far(line.travel), *_no_travel(line.pressed)
    if isinstance(line, CrossFollows):
        return (_cross_moved(line),)
    if isinstance(line, BallastMoved):
        return (_ballast(line),)
    if isinstance(line, PanhardHoles):
        return (_holes(line),)
    if isinstance(line, StaggerFollows):
        after = "" if line.after is None else f", to {line.after:.2f}"
        return (f"moves the stagger by about {line.by:+.2f} in{after}: tape the rear tires again",)
    return (
        {
            "cross": "give [scales] and settings.spring in the car file for the turns of the jack",
            "spring": "weigh the car again after the spring, and set the cross weight as it was",
            "stagger": "another tire moves the cross weight and the rear ride height: weigh the "
            "car again after it, and set the cross weight as it was",
        }[line.knob],
    )


def _cross_moved(line: KeptCross | CrossFollows) -> str:
    """Say what cross weight goes with a change that leaves the jacks alone, and the way back."""
    jack = f"the {line.jack} jack"
    way = "frees the car up" if line.frees else "tightens the car"
    if isinstance(line, KeptCross):
        return (
            f"with the jack untouched the cross would go {line.before:.1f} → "
            f"{line.left_alone:.1f} %, which {way}; {_turns(line.turns, line.exact, jack)} brings "
            f"back {line.brought_back:.1f} % (springs of the same free length; {line.unsprung:.0f} "
            "lb taken as unsprung); weigh it again"
        )
    moved = f"the cross goes {line.before:.2f} → {line.after:.2f} % with it, which {way}"
    height = f"{line.corner} stands {abs(line.height):.2f} in {'up' if line.height > 0 else 'down'}"
    if not line.turns:
        return f"{moved} a little; {height}"
    return (
        f"{moved}; {height}. Weigh the car again and set the cross back: "
        f"{_turns(line.turns, line.exact, jack)}"
    )


def _ballast(line: BallastMoved) -> str:
    """Say what moved ballast does to the scales."""
    span = "wheelbase" if line.place == "rear" else "track"
    far = f"half the {span}" if line.distance is None else f"{line.distance:.0f} in"
    each = ", ".join(f"{corner} {line.scales[corner]:+.0f}" for corner in CORNERS)
    shares = ""
    if line.rear is not None and line.left is not None and line.cross is not None:
        shares = f": rear {line.rear:.1f} %, left {line.left:.1f} %, cross {line.cross:.1f} %"
    return f"moved by {far}: {each} lb on the scales{shares}; weigh the car again after it"


def in_the_turn(found: InTurn) -> tuple[str, ...]:
    """Say what a change does in the middle of the turn: cross, front share, loads, lift-off."""
    now, after = found.now, found.after
    said = [f"cross weight {now.cross:.1f} → {after.cross:.1f} %"]
    if now.front_share is not None and after.front_share is not None:
        said.append(
            f"front share of the load transfer {now.front_share:.1f} → {after.front_share:.1f} %"
        )
    loads = ", ".join(
        f"{corner} {now.loads[corner]:.0f} → {after.loads[corner]:.0f}" for corner in CORNERS
    )
    lifts = ", ".join(
        f"{corner} at {_lift(at)} → {_lift(after.lift_off.get(corner))}"
        for corner, at in now.lift_off.items()
        if at is not None or after.lift_off.get(corner) is not None
    )
    return (
        f"at {now.lateral_g:.2f} g: {', '.join(said)}",
        f"loads {loads} lb",
        *([f"lifts {lifts}"] if lifts else []),
        *([f"{' and '.join(after.lifted)} off the ground"] if after.lifted else []),
    )


def _lift(at: float | None) -> str:
    return f"above {CEILING_G:g} g" if at is None else f"{at:.2f} g"


def _hooked(line: JackTurns) -> tuple[str, ...]:
    """Ask about a bar that many turns would wind up."""
    if not line.hooked or abs(line.turns) <= FEW_TURNS:
        return ()
    return (
        "is a bar hooked? It winds up with every turn: unhook one end, turn, and set its link "
        "without load",
    )


def _too_far(travel: float) -> tuple[str, ...]:
    """Ask about more travel than most jacks have [in]."""
    if travel <= JACK_TRAVEL:
        return ()
    return (
        f"is there so much travel? {travel:.1f} in is more than most jacks have (from memory): "
        "move the spring seat, or change the length of the spring",
    )


def _no_travel(pressed: float) -> tuple[str, ...]:
    """Ask about a spring that stands pressed as far as most go [in]."""
    if pressed < SPRING_TRAVEL:
        return ()
    return (
        f"is there travel left? The spring would stand pressed by {pressed:.1f} in, and most have "
        f"{SPRING_TRAVEL:g} in before the coils touch (from memory)",
    )


def _turns(number: float, exact: float, jack: str) -> str:
    """Write turns of a jack as a hand makes them, with the exact number where it differs.

    Such as ``1.5 turns into the RR jack``, ``1.75 turns out of the LR jack (exactly 1.86)``.
    """
    size = abs(number)
    word = "turn" if 0 < size <= 1 else "turns"
    beside = f" (exactly {abs(exact):.2f})" if abs(number - exact) >= 0.005 else ""
    return f"{size:g} {word} {'into' if exact > 0 else 'out of'} {jack}{beside}"


def _holes(line: PanhardHoles) -> str:
    """Write holes of the panhard bar, such as ``1 hole up at one end of the bar``."""
    size, way = abs(line.holes), "up" if line.exact > 0 else "down"
    holes = f"{size} {'hole' if size == 1 else 'holes'} {way}"
    beside = "" if abs(line.exact - line.holes) < 0.005 else f" (exactly {abs(line.exact):.2f})"
    both = f", or {size // 2} at each end" if size and size % 2 == 0 else ""
    return f"{holes}{beside} at one end of the bar{both}; holes {line.spacing:g} in apart"
