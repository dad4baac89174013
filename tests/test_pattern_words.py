"""What a pattern says, to the letter: the figure, the latest run, masks, wear and the driver."""

from statistics import NormalDist

import attrs
import pytest
from garage import (
    AT,
    GOOD,
    LF_OVERWORKED,
    LOOSE,
    TIGHT,
    TOO_MUCH_CROSS,
    Told,
    book,
    day_of,
    run,
    tires,
    told,
)

from planner.judging.expected import MARGIN
from planner.judging.patterns import Gate, Pattern, find, masked
from planner.plan.day import learned
from planner.plan.fold import replay
from planner.plan.steps import Plan, RulesUsed, RunStep
from planner.run.readings import Run
from planner.trade.corners import CORNERS
from planner.words import patterns as pattern_words

FULL = (8.0, 8.0, 8.0)
TREAD_BEFORE = dict.fromkeys(CORNERS, FULL)
WORN = {
    "LF": (7.9, 7.9, 7.9),
    "RF": (6.5, 7.0, 7.5),
    "LR": (7.9, 7.9, 7.9),
    "RR": (7.4, 7.5, 7.4),
}


def after(*runs: Run, units: str = "us", name: str = "paved-oval", turns: str = "left"):
    """Return what all these runs show, nothing changed between them, by key."""
    rules = book(name, turns)
    plan = Plan(
        created=AT,
        rules=RulesUsed(name, rules.fingerprint),
        turns=turns,  # type: ignore[arg-type]
        units=units,  # type: ignore[arg-type]
        laps=rules.laps,
        step=tuple(RunStep(AT, each) for each in runs),
    )
    return told(replay(plan, rules))


def worn(readings, **rest) -> dict[str, Told]:
    return after(run(readings, tread=WORN, tread_before=TREAD_BEFORE, **rest))


@pytest.mark.parametrize(
    ("readings", "key", "says"),
    [
        (
            tires(split={"RF": 20}),
            "camber.inner-hot:RF",
            "RF: inner edge 20.0 °F hotter than the outer: too much negative camber",
        ),
        (
            tires(split={"LR": -20}),
            "camber.outer-hot:LR",
            "LR: outer edge 20.0 °F hotter than the inner: too much positive camber (or not "
            "enough negative)",
        ),
        (
            tires(crown={"LF": -6}),
            "pressure.under:LF",
            "LF: middle 6.0 °F below the tire's average: under-inflated",
        ),
        (
            tires(TOO_MUCH_CROSS),
            "cross.too-much",
            "the diagonal runs too hot against both the front and the loaded side (nearest "
            "-3.0 °F): too much cross weight (weak evidence, 68%: what is right differs from car "
            "to car by some 4.0 °F)",
        ),
        (
            tires(LOOSE),
            "balance.loose",
            "the loaded rear tire runs 10.0 °F hotter than the front one: loose",
        ),
        (
            tires(LF_OVERWORKED),
            "corners.overworked:LF",
            "LF: 26.0 °F hotter than the mean of the other three: hardly out of band, 50% likely "
            "to be a fault (this corner does too much of the work)",
        ),
        (
            tires(LF_OVERWORKED),
            "cross.disagree",
            "the diagonal reads -18.5 °F against the front and -7.0 °F against the loaded side, "
            "and only one of them is out of band, or they are out on opposite sides: no reason by "
            "these to move the cross weight",
        ),
        (
            tires(dict.fromkeys(CORNERS, 250.0)),
            "heat.above:RR",
            "RR: average 250 °F, above the tire's working range: it will wear sooner",
        ),
        (
            tires(split={"RF": 11.0}),
            "camber.inner-hot:RF",
            "RF: inner edge 11.0 °F hotter than the outer: hardly out of band, 50% likely to be a "
            "fault (too much negative camber)",
        ),
        (
            tires(split={"RF": 11.0, "LF": -20.0}),
            "camber.inner-hot:RF",
            "RF: inner edge 11.0 °F hotter than the outer: too much negative camber (borderline: "
            "50% that it is out of band; another run, or reading again, would settle it)",
        ),
    ],
)
def test_what_one_run_shows_in_words(readings, key: str, says: str) -> None:
    assert after(run(readings))[key].says == says


def test_a_metric_plan_speaks_in_degrees_celsius() -> None:
    shown = after(run(tires(TOO_MUCH_CROSS, split={"RF": 20})), units="metric")
    assert shown["camber.inner-hot:RF"].says.startswith("RF: inner edge 11.1 °C hotter")
    assert "(nearest -1.7 °C)" in shown["cross.too-much"].says
    alone = after(run(tires(TOO_MUCH_CROSS)), units="metric")["cross.too-much"].says
    assert "from car to car by some 2.2 °C" in alone
    hot = after(run(tires(dict.fromkeys(CORNERS, 250.0))), units="metric")
    assert hot["heat.above:LF"].says.startswith("LF: average 121.1 °C, above")
    both = after(run(tires(TIGHT)), run(tires(GOOD | {"RF": 219.0})), units="metric")
    assert "this run alone reads +5.0 °C)" in both["balance.tight"].says


def test_a_figure_just_in_band_that_is_likely_out_says_so() -> None:
    """The mean of 10.5 and 8.5 is 9.5 ± 3.0; a fault is what is more than `MARGIN` beyond 10."""
    shown = after(run(tires(split={"RF": 10.5})), run(tires(split={"RF": 8.5})))
    (pattern,) = shown.values()
    assert pattern.holds
    assert pattern.value == pytest.approx(9.5, abs=0.1)
    assert pattern.chance == pytest.approx(
        1 - NormalDist(pattern.value, pattern.error).cdf(10 + MARGIN), abs=1e-6
    )
    assert pattern.says.startswith(
        f"RF: inner edge {pattern.value:.1f} °F hotter than the outer: in band, but "
        f"{pattern.chance:.0%} likely to be out (too much negative camber)"
    )


# --- the latest run beside all runs together -------------------------------------------------

TIGHT_SAYS = "the loaded front tire runs 13.0 °F hotter than the rear one: tight (pushing)"
LOOSE_SAYS = "the loaded rear tire runs 4.0 °F hotter than the front one: loose"


def test_where_the_latest_run_differs_it_is_told_beside_all_runs() -> None:
    """17 and 9 make 13; at 17 and 15.5 the difference, 0.75, is not worth a word."""
    shown = after(run(tires(TIGHT)), run(tires(GOOD | {"RF": 219.0})))["balance.tight"]
    assert shown.says == f"{TIGHT_SAYS} (all runs together; this run alone reads +9.0 °F)"
    assert shown.holds
    near = after(run(tires(TIGHT)), run(tires(GOOD | {"RF": 225.5})))["balance.tight"]
    assert "this run alone" not in near.says
    just = after(run(tires(TIGHT)), run(tires(GOOD | {"RF": 225.0})))["balance.tight"]
    assert "this run alone reads +15.0 °F" in just.says  # 16 by both: a degree apart


@pytest.mark.parametrize(
    ("first", "second", "feel", "key", "says", "reads"),
    [
        (TIGHT, 219.0, "loose", "balance.tight", TIGHT_SAYS, "+9.0"),
        (LOOSE, 212.0, "tight", "balance.loose", LOOSE_SAYS, "+2.0"),
    ],
)
def test_a_driver_who_feels_the_opposite_of_older_runs_is_heard(
    first, second: float, feel: str, key: str, says: str, reads: str
) -> None:
    latest = tires(GOOD | {"RF": second})
    heard = after(run(tires(first)), run(latest, feel=feel))[key]
    assert heard.strength == "borderline"
    assert heard.says == (
        f"{says} (all runs together; this run alone reads {reads} °F); the driver felt {feel}, "
        "so make another run before any change"
    )
    same = {"loose": "tight", "tight": "loose"}[feel]
    for other in (same, "neutral", None):
        assert after(run(tires(first)), run(latest, feel=other))[key].holds


@pytest.mark.parametrize(
    ("first", "second", "feel", "key"),
    [(TIGHT, 220.5, "loose", "balance.tight"), (LOOSE, 209.5, "tight", "balance.loose")],
)
def test_a_driver_is_not_heard_against_a_latest_run_that_is_out_of_band_itself(
    first, second: float, feel: str, key: str
) -> None:
    assert after(run(tires(first)), run(tires(GOOD | {"RF": second}), feel=feel))[key].holds


@pytest.mark.parametrize(
    ("first", "second", "feel", "key"),
    [(TIGHT, 220.0, "loose", "balance.tight"), (LOOSE, 210.0, "tight", "balance.loose")],
)
def test_the_edge_of_the_band_is_in_band(first, second: float, feel: str, key: str) -> None:
    shown = after(run(tires(first)), run(tires(GOOD | {"RF": second}), feel=feel))[key]
    assert not shown.holds


def test_only_balance_knows_an_opposite_feel() -> None:
    """Camber by both runs, in band by the latest alone: no word of the driver's speaks to it."""
    for feel in ("tight", "loose"):
        shown = after(run(tires(split={"RF": 20.0})), run(tires(split={"RF": 9.0}), feel=feel))
        assert shown["camber.inner-hot:RF"].holds


def test_information_is_not_set_beside_the_latest_run() -> None:
    hot = after(
        run(tires(dict.fromkeys(CORNERS, 260.0))), run(tires(dict.fromkeys(CORNERS, 250.0)))
    )
    assert "alone" not in hot["heat.above:LF"].says
    assert "alone" in hot["cross.too-much"].says or hot["cross.too-much"].value == 0


# --- the driver, wear ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("where", "place"),
    [(None, ""), ("entry", " at entry"), ("middle", " in the middle"), ("exit", " at exit")],
)
def test_the_drivers_word_in_words(where, place: str) -> None:
    def said(feel: str) -> tuple[str, ...]:
        return after(run(tires(TIGHT), feel=feel, where=where))["balance.tight"].evidence

    assert said("tight") == (f"the driver says the same: tight{place}",)
    assert said("loose") == (
        f"the driver says loose{place}: the tires and the driver do not agree",
    )
    assert after(run(tires(TIGHT)))["balance.tight"].evidence == ()


def test_wear_across_the_tire_that_runs_hot() -> None:
    said = worn(tires(split={"RF": 20}))["camber.inner-hot:RF"].evidence
    assert said == ("wear agrees: the inner edge lost 1.5/32 in, the outer edge 0.5",)
    outer = worn(tires(split={"RF": -20}))["camber.outer-hot:RF"].evidence
    assert outer == ("wear contradicts: the inner edge lost 1.5/32 in, the outer edge only 0.5",)
    assert worn(tires(split={"LF": 20}))["camber.inner-hot:LF"].evidence == ()


def test_wear_between_the_ends_of_the_car_by_the_way_it_leans() -> None:
    tight = worn(tires(TIGHT), feel="tight")["balance.tight"].evidence
    assert tight == ("wear agrees: RF lost 1.0/32 in, RR 0.6", "the driver says the same: tight")
    loose = worn(tires(LOOSE))["balance.loose"].evidence
    assert loose == ("wear contradicts: RF lost 1.0/32 in, RR only 0.6",)


def test_wear_between_the_ends_on_a_road_course_counts_both_tires_of_an_axle() -> None:
    averages = {"LF": 205.0, "RF": 225.0, "LR": 200.0, "RR": 190.0}
    shown = after(
        run(tires(averages), tread=WORN, tread_before=TREAD_BEFORE),
        name="road-course",
        turns="both",
    )
    assert shown["balance.tight"].evidence == ("wear agrees: LF/RF lost 0.5/32 in, LR/RR 0.3",)


def test_wear_of_a_corner_against_the_others() -> None:
    over = worn(tires(LF_OVERWORKED))["corners.overworked:LF"].evidence
    assert over == ("wear contradicts: the others lost 0.6/32 in, LF only 0.1",)
    averages = {"LF": 182.0, "RF": 214.0, "LR": 205.0, "RR": 209.0}
    under = worn(tires(averages))["corners.underworked:LF"].evidence
    assert under == ("wear agrees: the others lost 0.6/32 in, LF 0.1",)


def test_uneven_wear_in_words() -> None:
    (pattern,) = worn(tires()).values()
    assert (pattern.id, pattern.corner, pattern.stage) == ("wear.uneven", "RF", None)
    assert pattern.says == (
        "RF: wears 3.9 times as fast as the mean of the other three, though the temperatures are "
        "in band"
    )
    assert pattern.value == pytest.approx(1.0 / ((0.1 + 0.1 + 1.7 / 3) / 3))
    assert pattern.limit == 1.5


def test_wear_between_the_ends_in_a_right_turn_looks_at_the_left_tires() -> None:
    """Nothing to say between LF and LR, which lost alike; the right ones are no matter there."""
    averages = {"LF": 227.0, "RF": 210.0, "LR": 210.0, "RR": 195.0}
    shown = after(run(tires(averages), tread=WORN, tread_before=TREAD_BEFORE), turns="right")
    assert shown["balance.tight"].evidence == ()
    lost = WORN | {"LF": (6.0, 6.0, 6.0)}
    shown = after(run(tires(averages), tread=lost, tread_before=TREAD_BEFORE), turns="right")
    assert shown["balance.tight"].evidence == ("wear agrees: LF lost 2.0/32 in, LR 0.1",)


# --- two figures that do not agree --------------------------------------------------------------


def disagreement(front: float, right: float) -> Pattern | None:
    """Return what cross figures of these values show, if they disagree.

    With RF at 215 and LF, LR, RR free: cross vs front is (LR - LF)/2, vs right (LR - RR)/2.
    """
    averages = {"LF": 200.0 - 2 * front, "RF": 215.0, "LR": 200.0, "RR": 200.0 - 2 * right}
    return after(run(tires(averages))).get("cross.disagree")


@pytest.mark.parametrize(
    ("front", "right", "value", "limit"),
    [
        (-12.0, -7.0, -12.0, -10.0),
        (-7.0, -12.0, -12.0, -10.0),
        (-3.0, -7.0, -3.0, -5.0),
        (-7.0, -3.0, -3.0, -5.0),
        (-3.0, -12.0, -3.0, -5.0),
        (-12.0, -3.0, -12.0, -10.0),
        (-10.0, -5.0, None, None),
        (-5.0, -10.0, None, None),
        (-10.0, -3.0, -3.0, -5.0),
        (-12.0, -5.0, -12.0, -10.0),
        (-5.0, -12.0, -12.0, -10.0),
    ],
)
def test_the_figure_that_is_out_of_band_is_named(front, right, value, limit) -> None:
    shown = disagreement(front, right)
    assert (shown and (round(shown.value, 6), shown.limit)) == (value and (value, limit))
    if shown:
        assert (shown.chance, shown.stage) == (1.0, None)


def test_of_two_figures_the_one_nearest_its_limit_decides_and_is_told_of_the_latest_run() -> None:
    """Front 6.0 and right -3.0 by the first, 4.0 and -4.5 by the second: -3.75 is the nearest."""

    def crossed(front: float, right: float) -> Run:
        return run(
            tires({"LF": 200.0 - 2 * front, "RF": 215.0, "LR": 200.0, "RR": 200.0 - 2 * right})
        )

    shown = after(crossed(6.0, -2.0), crossed(4.0, -4.5))["cross.too-much"]
    assert shown.value == pytest.approx(-3.25)
    assert shown.says.endswith("this run alone reads -4.5 °F)")


def test_the_latest_run_is_told_by_the_figure_that_decides() -> None:
    """Front 4.0 and right -3.0 by both runs: right decides, and alone it reads -4.5."""

    def crossed(front: float, right: float) -> Run:
        return run(
            tires({"LF": 200.0 - 2 * front, "RF": 215.0, "LR": 200.0, "RR": 200.0 - 2 * right})
        )

    shown = after(crossed(11.2, -1.5), crossed(-3.2, -4.5))["cross.too-much"]
    assert shown.value == pytest.approx(-3.0)
    assert shown.numbers["latest"] == pytest.approx(-4.5)


def test_numbers_of_both_figures_are_kept_only_where_the_rule_names_them() -> None:
    assert after(run(tires(TOO_MUCH_CROSS)))["cross.too-much"].numbers == {}
    told = after(run(tires(LF_OVERWORKED)))["cross.disagree"].numbers
    assert set(told) == {"first", "second"}


def test_a_pattern_the_rules_do_not_know_any_more_masks_nothing_and_is_not_masked() -> None:
    day = day_of(tires(split={"RF": 20.0}))
    gone = Pattern("tread.gone", 1.0, 0.0, "corners", "RF")
    inner = day.good[0].patterns[0]
    assert inner.key == "camber.inner-hot:RF"
    assert masked((inner, gone), day.book, "left")[1] == gone


def test_two_runs_make_an_error_of_less_than_a_degree() -> None:
    """Cross figures of one run have 3/sqrt(6) = 1.22; of two 0.87, and the noise is learned."""
    runs = [run(tires(TOO_MUCH_CROSS))] * 2
    assert 0.5 < after(*runs)["cross.too-much"].error < 0.9


def test_every_placeholder_of_a_rules_file_is_filled_in() -> None:
    day = day_of(tires(split={"RF": -20.0}))
    says = "$corner ($first, $second): $value, $size, beyond $limit, at $average"
    rules = [
        attrs.evolve(rule, says=says, means="") if rule.id.startswith("camber") else rule
        for rule in day.book.pattern
    ]
    mine = attrs.evolve(day.book, pattern=tuple(rules))
    (pattern,) = find(day.good[0].run, day.known, mine, gate=Gate(holding={"camber.outer-hot:RF"}))
    assert pattern_words.says(pattern, mine, "us") == (
        "RF: RF (-20.0 °F, -20.0 °F): -20.0 °F, 20.0 °F, beyond -10.0 °F, at -20 °F"
    )
    assert "beyond -5.6 °C" in pattern_words.says(pattern, mine, "metric")
    hot = day_of(tires(split={"RF": 20.0}))
    (pattern,) = find(hot.good[0].run, hot.known, mine, gate=Gate(holding={"camber.inner-hot:RF"}))
    assert "20.0 °F, 20.0 °F, beyond 10.0 °F" in pattern_words.says(pattern, mine, "us")


def test_a_rule_that_names_both_of_its_figures_is_told_with_both() -> None:
    day = day_of(tires({"LF": 192.0, "RF": 215.0, "LR": 200.0, "RR": 204.0}))
    mine = attrs.evolve(
        day.book,
        pattern=tuple(
            attrs.evolve(
                rule, says="$first and $second, nearest $value", means="", between_cars=0.0
            )
            for rule in day.book.pattern
            if rule.id == "cross.too-much"
        ),
    )
    (pattern,) = find(day.good[0].run, day.known, mine, gate=Gate(holding={"cross.too-much"}))
    assert pattern_words.says(pattern, mine, "us") == "+4.0 °F and -2.0 °F, nearest -2.0 °F"


# --- masks -----------------------------------------------------------------------------------


def test_masks_name_every_fault_that_comes_first() -> None:
    shown = after(
        run(tires(TIGHT, split={"RF": 20, "RR": -20}, crown={"RF": 8, "LF": -7})),
    )
    assert shown["pressure.over:RF"].masked_by == ("camber.inner-hot:RF",)
    assert shown["pressure.over:RF"].says == (
        "RF: middle 8.0 °F above the tire's average: over-inflated (masked: fix RF "
        "camber first, then look again)"
    )
    assert shown["pressure.under:LF"].masked_by == ()
    assert shown["balance.tight"].says.endswith(
        "(masked: fix RF camber and RR camber and RF pressure first, then look again)"
    )


# --- what holds a stage ----------------------------------------------------------------------


def test_only_what_the_gate_holds_is_clear() -> None:
    readings = tires(split={"RF": 15.0}, crown={"RR": 2.5})
    day = day_of(readings)
    held = day.held_from(day.good[0])
    known = learned(day.plan, day.book, [day.good[0], day.good[0]], held)
    gate = Gate({"camber.inner-hot:RF": 0.9}, {"pressure.over:RR"})
    shown = {p.key: p for p in find(run(readings), known, day.book, gate=gate)}
    # Beyond its edge, and held by nothing: told, and no more.
    assert (shown["camber.inner-hot:RF"].strength, shown["camber.inner-hot:RF"].chance) == (
        "borderline",
        0.9,
    )
    # In band, and held: there is more to be expected of it than of anything else.
    assert shown["pressure.over:RR"].holds
