"""``treadgate work``: the pit-wall calculator, one worksheet a topic."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar, cast

import attrs
import click

from planner.car import car_file as cars
from planner.commands import kinds, output
from planner.commands.options import json_option
from planner.trade.corners import CORNERS, Corner
from planner.trade.refusals import Refusal
from planner.worksheets.inputs import Known, as_typed, corners_listed, reading_pair
from planner.worksheets.quantities import ALL, ENDS, QUANTITIES

if TYPE_CHECKING:
    from planner.worksheets.pressure import Air
    from planner.worksheets.worksheet import Worksheet

# The worksheets are loaded when they are asked for: some of them need numpy.

F = TypeVar("F", bound=Callable[..., Any])

_SPRINGS = ("scales", "spring", "motion_ratio", "tire_rate", "bar", "track_front", "track_rear")
_UNSPRUNG = ("unsprung_front", "unsprung_rear")
_turns = click.option("--turns", type=click.Choice(["left", "right"]), help="way the track turns")


def _takes(*names: str) -> Callable[[F], F]:
    """Add the options of these quantities, of the car file and of JSON."""

    def decorate(function: F) -> F:
        function = json_option(function)
        for name in reversed(names):
            quantity = QUANTITIES[name]
            shape = quantity.unit.upper().replace("DEGF", "F").replace("PERCENT", "PCT")
            if ALL in quantity.places:
                shape = f"[CORNER=]{shape}"
            elif quantity.places:
                shape = f"{'PLACE' if quantity.places == ENDS else 'CORNER'}={shape}"
            function = click.option(
                quantity.option,
                name,
                multiple=bool(quantity.places),
                metavar=shape,
                help=quantity.words,
            )(function)
        return click.option(
            "--car",
            "car_file",
            type=kinds.File(),
            metavar="FILE",
            help="the car file; what is typed wins over it",
        )(function)

    return decorate


@click.group("work")
def command() -> None:
    """Pit-wall calculator: give numbers, a car file, or both."""


def _known(typed: dict[str, Any], car_file: Path | None) -> Known:
    if car_file is None:
        return Known(typed, None)
    try:
        return Known(typed, cars.load(car_file))
    except Refusal as refusal:
        hint = "check the file named after --car, or type the numbers instead"
        hint = hint if refusal.code == "not-found" else refusal.hint
        raise Refusal(refusal.code, refusal.message, where=refusal.where, hint=hint) from None


def _show(known: Known, make: Callable[[], "Worksheet"], as_json: bool) -> None:
    """Work the sheet out and print it."""
    try:
        sheet = make()
    except Refusal as refusal:
        raise as_typed(refusal) from None
    sheet = attrs.evolve(sheet, remarks=(*sheet.remarks, *known.remarks))
    if as_json:
        shown = {row.key for row in sheet.inputs}
        sources = {key: source for key, source in known.sources.items() if key in shown}
        output.write_json(sheet.as_dict() | {"sources": sources})
    else:
        from planner.worksheets import as_text

        output.write(as_text.text(sheet, known.sources))


@command.command("weights", short_help="percentages, wedge, loads wanted")
@_takes("scales", "total", "cross", "front_share", "track_front", "track_rear")
@click.option("--even-front", is_flag=True, help="loads with one front share on both sides")
def work_weights(car_file: Path | None, even_front: bool, as_json: bool, **typed: Any) -> None:
    """Turn four scales into percentages and wedge, or find the loads wanted."""
    from planner.worksheets import weights

    known = _known(typed, car_file)
    scales = known.needed_corners("scales")
    front, rear = known.tracks()
    total, cross, share = (known.number(name) for name in ("total", "cross", "front_share"))
    _show(
        known,
        lambda: weights.sheet(
            scales,
            total=total,
            cross=cross,
            even_front=even_front,
            front_share=share,
            track_front=front,
            track_rear=rear,
        ),
        as_json,
    )


@command.command("jack", short_help="turns of the weight jacks")
@_takes(
    "turn",
    "perch",
    "ride_height",
    "cross",
    "spring_change",
    "free_length",
    "unsprung",
    *_SPRINGS,
    "pitch",
    "step",
)
@click.option("--at", multiple=True, metavar="CORNER", help="jacks to turn for --cross")
@_turns
def work_jack(
    car_file: Path | None, at: tuple[str, ...], turns: str | None, as_json: bool, **typed: Any
) -> None:
    """Say what turns of the weight jacks do, or the turns for what is wanted.

    Give one of: --turn and --perch, --ride-height, --cross, --spring-change.
    """
    known = _known(typed, car_file)
    wishes = [
        name
        for name, options in (
            ("by hand", ("turn", "perch")),
            ("ride_height", ("ride_height",)),
            ("cross", ("cross",)),
            ("spring_change", ("spring_change",)),
        )
        if known.typed(*options)
    ]
    if len(wishes) != 1:
        what = "--turn or --perch, --ride-height, --cross, or --spring-change"
        said = "two things at once are asked" if wishes else "nothing is asked"
        raise Refusal(
            "usage", f"Give one of {what}; {said}.", where="treadgate work jack", hint="--turn LR=1"
        )
    wish = wishes[0]
    for extra in ("free_length", "unsprung"):
        if known.typed(extra) and wish != "spring_change":
            raise _goes_with(QUANTITIES[extra].option, "--spring-change")
    if at and wish != "cross":
        raise _goes_with("--at", "--cross")
    known.needed_corners("spring")
    suspension = known.suspension()
    assert suspension is not None
    with_scales = wish in ("cross", "spring_change")
    scales = known.needed_corners("scales") if with_scales else known.corners("scales")
    from planner.chassis.at_rest import HAND_STEP, JACK_PITCH
    from planner.chassis.loads import usual_unsprung
    from planner.worksheets import jack

    front, rear = known.tracks()
    stand = jack.Stand(
        suspension=suspension,
        scales=scales,
        pitch=known.taken("pitch", JACK_PITCH),
        step=known.taken("step", HAND_STEP),
        track_front=front,
        track_rear=rear,
    )
    if wish == "cross":
        cross = known.needed("cross")
        one: Corner = "RR" if known.turns(turns) == "right" else "LR"
        jacks = corners_listed(at, "--at")
        choices = (
            [("at", f"With {', '.join(jacks)}", jacks)]
            if jacks
            else [
                ("one_jack", f"With {one} alone", (one,)),
                ("all_four", "With all four, ride heights kept", CORNERS),
            ]
        )
        _show(known, lambda: jack.for_cross(stand, cross, choices), as_json)
    elif wish == "spring_change":
        corner, rate = known.one_corner("spring_change")
        length = known.taken("free_length", 0.0)
        assert stand.scales is not None
        usual = usual_unsprung(sum(stand.scales.values()), corner)
        light = known.taken("unsprung", round(usual, 1))
        _show(
            known,
            lambda: jack.for_spring(stand, corner, rate, free_length=length, unsprung=light),
            as_json,
        )
    elif wish == "ride_height":
        corner, height = known.one_corner("ride_height")
        _show(known, lambda: jack.for_ride_height(stand, corner, height), as_json)
    else:
        turned = cast(dict[Corner, float], known.places("turn"))
        perched = cast(dict[Corner, float], known.places("perch"))
        _show(known, lambda: jack.by_hand(stand, turned, perched), as_json)


@command.command("ballast", short_help="what moving ballast does")
@_takes("move", "rearward", "leftward", "up", *_SPRINGS, "wheelbase", "cg_height")
def work_ballast(car_file: Path | None, as_json: bool, **typed: Any) -> None:
    """Say what moving ballast does to loads, percentages and load transfer."""
    known = _known(typed, car_file)
    pounds = known.needed("move")
    if not known.typed("rearward", "leftward", "up"):
        raise Refusal(
            "missing",
            "Where the ballast goes is not given.",
            where="--rearward, --leftward or --up",
            hint="--move 50 --rearward 40",
        )
    rearward, leftward, up = (known.taken(name, 0.0) for name in ("rearward", "leftward", "up"))
    scales = known.needed_corners("scales")
    wheelbase = known.needed("wheelbase") if rearward else known.number("wheelbase")
    if leftward:
        known.needed("track_front")
        known.needed("track_rear")
    front, rear = known.tracks()
    suspension = known.suspension()
    height = known.number("cg_height")
    from planner.worksheets import ballast

    _show(
        known,
        lambda: ballast.sheet(
            scales,
            pounds,
            rearward=rearward,
            leftward=leftward,
            up=up,
            wheelbase=wheelbase,
            track_front=front,
            track_rear=rear,
            suspension=suspension,
            cg_height=height,
        ),
        as_json,
    )


@command.command("loads", short_help="tire loads in a turn, tight or loose")
@_takes(
    "radius",
    "banking",
    "speed",
    *_SPRINGS,
    "wheelbase",
    "cg_height",
    "roll_center_front",
    "roll_center_rear",
    "unsprung_front",
    "unsprung_rear",
    "stagger",
    "circumference",
)
@_turns
def work_loads(car_file: Path | None, turns: str | None, as_json: bool, **typed: Any) -> None:
    """Find the four tire loads in a turn, and whether the car is tight or loose."""
    from planner.chassis import loads as physics
    from planner.chassis.turn import Turn
    from planner.worksheets import loads

    known = _known(typed, car_file)
    scales, spring = known.needed_corners("scales"), known.needed_corners("spring")
    ratios = cast(dict[Corner, float], known.taken_places("motion_ratio", CORNERS, 1.0))
    bar = known.taken_places("bar", ENDS, 0.0)
    radius, speed = known.needed("radius"), known.needed("speed")
    banking = known.taken("banking", 0.0)
    direction = known.turns(turns)
    if direction == "both":
        raise Refusal(
            "missing",
            "The track turns both ways: say which turn is meant.",
            where="--turns or car.turns",
            hint="--turns left",
        )
    if direction is None:
        known.sources["turns"] = "taken"
    round_ = known.places("circumference")
    stagger = known.stagger(direction or "left", round_)
    extra: dict[str, float] = {}
    if "LR" in round_ and "RR" in round_:
        extra["rear_circumference"] = (round_["LR"] + round_["RR"]) / 2
    for name in _UNSPRUNG:
        light = known.number(name)
        if light is None:
            known.sources[name] = "taken"
        else:
            extra[name] = light
    sizes = {name: known.needed(name) for name in ("wheelbase", "track_front", "track_rear")}
    heights = {
        "cg_height": known.taken("cg_height", physics.CG_HEIGHT),
        "roll_center_front": known.taken("roll_center_front", physics.ROLL_CENTER_FRONT),
        "roll_center_rear": known.taken("roll_center_rear", physics.ROLL_CENTER_REAR),
    }
    tire_rate = known.corners("tire_rate")
    if any(known.sources.get(name) == "taken" for name in (*heights, *_UNSPRUNG)):
        known.remarks.append("Heights and unsprung weights taken as not given are from memory.")

    def make() -> "Worksheet":
        car = physics.TurnCar(
            scales=scales,
            wheel_rate={corner: spring[corner] * ratios[corner] ** 2 for corner in CORNERS},
            bar_front=bar["front"],
            bar_rear=bar["rear"],
            tire_rate=tire_rate,
            stagger=stagger,
            **sizes,
            **heights,
            **extra,
        )
        turn = Turn(
            radius_ft=radius,
            banking_deg=banking,
            speed_mph=speed,
            direction="right" if direction == "right" else "left",
        )
        return loads.sheet(
            car,
            turn,
            spring=spring,
            motion_ratio=ratios,
            circumference=cast(dict[Corner, float], round_) or None,
        )

    _show(known, make, as_json)


@command.command("pressure", short_help="hot, cold and sun-warmed pressures")
@_takes(
    "cold",
    "cold_temp",
    "hot",
    "hot_temp",
    "read",
    "tire_temp",
    "reference_temp",
    "altitude",
    "humidity",
)
@click.option("--wet", is_flag=True, help="water stays in the tire")
@click.option("--from-tread", is_flag=True, help="--hot-temp is the tread's, not the gas's")
def work_pressure(
    car_file: Path | None, wet: bool, from_tread: bool, as_json: bool, **typed: Any
) -> None:
    """Find hot from cold, today's cold setting, or put a reading right.

    --cold gives hot; --hot gives the cold setting; --read puts a reading of a tire warmed by the
    sun right (with --cold, says what it should read now).
    """
    from planner.worksheets import pressure

    known = _known(typed, car_file)
    if wet and known.typed("humidity"):
        raise Refusal(
            "usage",
            "With water in the tire its air is saturated; there is no humidity to give.",
            where="--humidity",
            hint="leave out --wet or --humidity",
        )
    around = _air(known, wet)
    if known.typed("read"):
        for name in ("hot", "hot_temp", "cold_temp"):
            if known.typed(name):
                raise _not_with(QUANTITIES[name].option, "--read")
        if from_tread:
            raise _not_with("--from-tread", "--read")
        reading = known.needed_places("read")
        tire_f, reference = known.needed_places("tire_temp"), known.needed("reference_temp")
        _same_tires("--tire-temp", reading, tire_f)
        setting = known.places("cold")
        if known.typed("cold"):
            _same_tires("--cold", reading, setting)
            _same_tires("--cold", tire_f, setting)
        elif set(reading) <= set(setting):
            setting = {tire: setting[tire] for tire in reading}
        else:
            setting = {}  # the car file's, and the reading does not say of which tires
        _show(
            known,
            lambda: pressure.read(reading, tire_f, reference, around, setting=setting or None),
            as_json,
        )
        return
    for name in ("tire_temp", "reference_temp"):
        if known.typed(name):
            raise _goes_with(QUANTITIES[name].option, "--read")
    if known.typed("hot"):
        if known.typed("cold"):
            raise _not_with("--cold", "--hot")
        wanted = known.needed_places("hot")
        cold_f, hot_f = known.needed("cold_temp"), known.needed_places("hot_temp")
        _same_tires("--hot-temp", wanted, hot_f)
        limit = None if known.car is None else known.car.limits.get("pressure")
        limits = (None, None) if limit is None else (limit.min, limit.max)
        _show(
            known,
            lambda: pressure.cold(
                wanted, cold_f, hot_f, around, from_tread=from_tread, limits=limits
            ),
            as_json,
        )
        return
    cold = known.places("cold")
    if not cold:
        raise Refusal(
            "missing",
            "No pressure is given.",
            where="--cold or settings.pressure, --hot, or --read",
            hint="--cold 20 --cold-temp 70 --hot-temp 180",
        )
    cold_f, hot_f = known.needed("cold_temp"), known.needed_places("hot_temp")
    _same_tires("--hot-temp", cold, hot_f)
    _show(known, lambda: pressure.hot(cold, cold_f, hot_f, around, from_tread=from_tread), as_json)


@command.command("stagger", short_help="stagger and turning radius")
@_takes("outer", "inner", "track", "radius", "banking", "at_pressure")
@click.option("--diameter", is_flag=True, help="--outer and --inner are diameters")
@click.option(
    "--pressure-pair",
    "pairs",
    multiple=True,
    metavar="PSI=IN",
    help="circumference at a pressure; give two",
)
@_turns
def work_stagger(
    car_file: Path | None,
    diameter: bool,
    pairs: tuple[str, ...],
    turns: str | None,
    as_json: bool,
    **typed: Any,
) -> None:
    """Find the turn the rear tires roll through freely, or the stagger a turn wants."""
    from math import pi

    from planner.worksheets import stagger

    known = _known(typed, car_file)
    if pairs or known.typed("at_pressure"):
        for name in ("outer", "inner", "radius"):
            if known.typed(name):
                raise _not_with(QUANTITIES[name].option, "--pressure-pair")
        if len(pairs) != 2:
            raise Refusal(
                "missing",
                f"Growth with air takes two readings of one tire; {len(pairs)} given.",
                where="--pressure-pair",
                hint="--pressure-pair 18=85.25 --pressure-pair 26=86.0 --at-pressure 22",
            )
        one, other = (reading_pair(text) for text in pairs)
        wanted = known.needed("at_pressure")
        _show(known, lambda: stagger.growth(one, other, wanted), as_json)
        return
    right = known.turns(turns) == "right"
    outside, inside = ("LR", "RR") if right else ("RR", "LR")
    times = pi if diameter else 1.0
    if diameter and not known.typed("outer", "inner"):
        raise _goes_with("--diameter", "--outer and --inner")
    sizes: dict[str, float | None] = {}
    for name, corner in (("outer", outside), ("inner", inside)):
        found = known.number(name, f"tires.circumference.{corner}")
        sizes[name] = found * times if found is not None and known.typed(name) else found
    track, radius = known.number("track"), known.number("radius")
    if None in sizes.values():
        lacking = "outer" if sizes["outer"] is None else "inner"
        if radius is None or sizes["outer"] is sizes["inner"]:
            corner = outside if lacking == "outer" else inside
            quantity = attrs.evolve(QUANTITIES[lacking], key=f"tires.circumference.{corner}")
            raise Refusal(
                "missing",
                f"The {quantity.words} is not given.",
                where=quantity.where,
                hint=quantity.hint,
            )
        known.needed("track")
    if known.typed("banking"):
        known.needed("radius")
    if known.typed("radius"):
        known.needed("track")
    axle = stagger.Axle(track=track, radius=radius, banking=known.taken("banking", 0.0), **sizes)
    _show(known, lambda: stagger.sheet(axle), as_json)


def _air(known: Known, wet: bool) -> "Air":
    from planner.worksheets.pressure import Air

    humidity = known.taken("humidity", 0.0)
    if 0 < humidity < 1:
        known.remarks.append(
            f"--humidity is in percent: {humidity:g} % was taken. For a share write 60, not 0.6."
        )
    return Air(altitude=known.taken("altitude", 0.0), humidity=humidity, wet=wet)


def _same_tires(option: str, values: dict[str, float], temperatures: dict[str, float]) -> None:
    """Refuse temperatures that leave a tire out, or name one that has no pressure."""
    if ALL in values or ALL in temperatures or set(values) == set(temperatures):
        return
    odd = [corner for corner in CORNERS if (corner in values) != (corner in temperatures)]
    raise Refusal(
        "missing",
        f"{option} and the pressures do not name the same tires; only one is known for "
        f"{', '.join(odd)}.",
        where=option,
        hint=f"{option} with the same corners, or one value for all",
    )


def _goes_with(option: str, other: str) -> Refusal:
    return Refusal(
        "usage", f"{option} goes with {other}.", where=option, hint=f"give {other}, or leave it out"
    )


def _not_with(option: str, other: str) -> Refusal:
    return Refusal(
        "usage", f"{option} and {other} ask two things.", where=option, hint="give one of them"
    )
