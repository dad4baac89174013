"""Which way every knob works: the trade's word, the rules' offers and the formulas, held together.

A row says what turning a knob up does to the balance of a car that turns left, and which tires it
heats and cools. On a track that turns right the car is seen in a mirror.

Sources: common practice, no source, but for air, which is of the tire section of the Raytek
AutoPro infrared thermometer manual. For the springs it is that of a car whose cross weight is set
back after the change: the stiffer axle moves more load to its outside tire and grips less, for
friction falls as load grows (W. F. and D. L. Milliken, *Race Car Vehicle Dynamics*, ch. 2 and 18).

**Where trade and formulas part.** Set-up charts say that a stiffer LR spring tightens and a
stiffer LF spring frees a car. They leave the weight jacks where they are, so that the stiffer
spring adds its cross weight, or takes it away. With the cross weight set back the formulas say
the opposite of LR on flat tracks; on steep banking, where an inside spring carries more of what the
banking adds, they say as the charts do. Of LF they say next to nothing either way. The offers
go by the formulas for the typical cars, whose spread of LR holds both answers.
"""

import attrs
import pytest

from planner.advice.sizes import LEAST_ANSWER
from planner.car.car_file import Car
from planner.car.car_model import COMPUTED_KNOBS, CarModel
from planner.car.typical import as_model
from planner.learning import beliefs
from planner.rulebook import rules_file
from planner.rulebook.mirrored import for_turns
from planner.rulebook.rules import Rulebook
from planner.run.readings import Run
from planner.trade.corners import CORNERS, mirrored
from planner.trade.figures import terms
from planner.trade.knobs import KNOBS


@attrs.frozen
class Row:
    """What more of a knob does.

    Attributes
    ----------
    tighter : +1 tighter, -1 looser, 0 neither, None where nothing is said of it.
    hotter, cooler : base figures that rise and fall.
    parts : the typical cars of the oval do not agree about it, see above.
    """

    knob: str
    place: str
    tighter: int | None
    hotter: str = ""
    cooler: str = ""
    parts: bool = False

    def moved(self) -> dict[str, int]:
        """Return the base figures with the sign of what happens to them."""
        up, down = (side.split() for side in (self.hotter, self.cooler))
        full = {
            sign: [name if "." in name else f"average.{name}" for name in names]
            for sign, names in ((1, up), (-1, down))
        }
        return {name: sign for sign, names in full.items() for name in names}


# Camber, toe and air work on their own tire's edges and middle, wherever the track goes.
EVERYWHERE = [
    *(Row("camber", corner, None, cooler=f"split.{corner}") for corner in CORNERS),
    *(
        Row("pressure", corner, None, hotter=f"crown.{corner}", cooler=f"average.{corner}")
        for corner in CORNERS
    ),
    Row("toe", "front", None, cooler="split.LF split.RF"),  # toe-in cools the inner edges
]
OVAL = [
    *EVERYWHERE,
    Row("cross", "car", +1, "RF LR", "LF RR"),
    Row("spring", "RF", +1, "RF LR", "LF RR"),
    Row("spring", "RR", -1, "RR LF", "LR RF"),
    Row("spring", "LR", -1, "RR LF", "LR RF", parts=True),
    Row("spring", "LF", 0, parts=True),
    Row("bar", "front", +1, "RF LR", "LF RR"),
    Row("ballast", "rear", -1, "LR RR", "LF RF"),
    Row("ballast", "left", 0, "LF LR", "RF RR"),
    Row("stagger", "rear", -1, "RR", "LF RF"),
    Row("panhard", "rear", -1, "RR LF", "LR RF"),  # a higher bar frees the car
]
# Both tires of an end are the outside ones by turns, so the stiffer end runs hotter.
ROAD = [
    *EVERYWHERE,
    Row("bar", "front", +1, "LF RF", "LR RR"),
    Row("panhard", "rear", -1, "LR RR", "LF RF"),  # a higher bar frees the car
    Row("bar", "rear", -1, "LR RR", "LF RF"),
    Row("spring", "LF", +1, "LF RF", "LR RR"),
    Row("spring", "RF", +1, "LF RF", "LR RR"),
    Row("spring", "LR", -1, "LR RR", "LF RF"),
    Row("spring", "RR", -1, "LR RR", "LF RF"),
    Row("ballast", "rear", -1, "LR RR", "LF RF"),
    Row("ballast", "left", 0, "LF LR", "RF RR"),
]


def in_mirror(row: Row) -> Row:
    """Return the row for a track that turns right."""

    def turned(names: str) -> str:
        dotted = (name.rpartition(".") for name in names.split())
        return " ".join(f"{kind}{dot}{mirrored(corner)}" for kind, dot, corner in dotted)

    hotter, cooler, tighter = turned(row.hotter), turned(row.cooler), row.tighter
    if row.place in KNOBS[row.knob].mirrors:
        assert tighter is not None
        hotter, cooler, tighter = cooler, hotter, -tighter
    return attrs.evolve(
        row, place=mirrored(row.place), tighter=tighter, hotter=hotter, cooler=cooler
    )


def rules(name: str, turns: str) -> Rulebook:
    """Return a rules file, turned the way the track turns."""
    return for_turns(rules_file.load(rules_file.find(name)), turns)


CASES = [
    *(("paved-oval", "left", row) for row in OVAL),
    *(("paved-oval", "right", in_mirror(row)) for row in OVAL),
    *(("road-course", "both", row) for row in ROAD),
]
WAYS = [("paved-oval", "left"), ("paved-oval", "right"), ("road-course", "both")]


def name_of(case) -> str:
    return f"{case.knob}.{case.place}" if isinstance(case, Row) else str(case)


def of_balance(effects, turns: str) -> float:
    """Return what some effects on the tire averages do to the balance."""
    name = "front_vs_rear" if turns == "both" else "balance"
    return sum(weight * effects.get(term, 0.0) for term, weight in terms(name, turns).items())


def believed(book: Rulebook, turns: str):
    """Return what is believed of a car of which nothing is known."""
    return beliefs.effects(book, CarModel(Car(), {}, {}, Run({}), {}, turns))


@pytest.mark.parametrize(("name", "turns", "row"), CASES, ids=name_of)
def test_what_is_believed_goes_the_way_of_the_table(name: str, turns: str, row: Row) -> None:
    book = rules(name, turns)
    effects = {n: e.mean for n, e in believed(book, turns)[row.knob, row.place].items()}
    for figure, sign in row.moved().items():
        assert effects[figure] * sign > 0, figure
    if row.tighter is None:
        return
    most = max(entry.most for entry in book.adjustments_of(row.knob, row.place))
    balance = of_balance(effects, turns) * most
    assert abs(balance) <= LEAST_ANSWER if row.tighter == 0 else balance * row.tighter > 0


@pytest.mark.parametrize(
    ("name", "turns", "row"), [c for c in CASES if c[2].knob in COMPUTED_KNOBS], ids=name_of
)
def test_every_typical_car_agrees_or_the_table_says_so(name: str, turns: str, row: Row) -> None:
    book = rules(name, turns)
    signs = set()
    for car in book.typical:
        slopes = as_model(car, turns, 215.0).slopes(row.knob, row.place)
        assert slopes is not None
        signs.add(of_balance(slopes, turns) > 0)
        if not row.parts:
            for figure, sign in row.moved().items():
                assert slopes[figure] * sign > 0, (car.car.name, figure)
    if row.parts:
        assert signs == {True, False}
    elif row.tighter:
        assert signs == {row.tighter > 0}


def test_a_stiffer_inside_rear_spring_takes_load_off_its_tire_on_a_flat_track_alone() -> None:
    book = rules("paved-oval", "left")
    for car in book.typical:
        flat, steep = (
            attrs.evolve(
                car, track=attrs.evolve(car.track, radius=200.0, banking=b, corner_speed=v)
            )
            for b, v in ((0.0, 52.0), (18.0, 70.0))
        )
        on_flat, on_steep = (
            as_model(each, "left", 215.0).slopes("spring", "LR") for each in (flat, steep)
        )
        assert on_flat is not None
        assert on_steep is not None
        assert on_flat["average.LR"] < 0 < on_flat["average.RR"]
        assert on_steep["average.LR"] > on_flat["average.LR"]


@pytest.mark.parametrize(("name", "turns"), WAYS)
def test_no_adjustment_is_without_a_row(name: str, turns: str) -> None:
    book = rules(name, turns)
    rows = {(row.knob, row.place) for n, t, row in CASES if (n, t) == (name, turns)}
    assert set(believed(book, turns)) == rows


@pytest.mark.parametrize(("name", "turns"), WAYS)
def test_every_direction_offered_goes_the_way_of_the_table(name: str, turns: str) -> None:
    book = rules(name, turns)
    rows = {(row.knob, row.place): row for n, t, row in CASES if (n, t) == (name, turns)}
    balance = "front_vs_rear" if turns == "both" else "balance"
    held = 0
    for band in book.stage_bands:
        for offer in (*band.rule.offers, *band.rule.next_cause):
            if offer.direction is None:
                continue
            row = rows[band.setting(book.adjustment[offer.use])]
            up = 1 if offer.direction == "+" else -1
            if band.rule.figures == (balance,):
                assert row.tighter is not None
                done = row.tighter * up
            else:
                done = up * sum(
                    weight * row.moved().get(term, 0)
                    for figure in band.figures
                    for term, weight in terms(figure, turns).items()
                )
            assert done * band.rule.sign < 0, (band.key, offer)
            held += 1
    assert held > 20
