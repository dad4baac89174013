"""Every kind of candidate, reason, basis and work at the car has words, in both unit systems."""

from typing import Any, get_args

import attrs
import pytest
from garage import GOOD, RF_INNER_HOT, book, day_of, tires

from planner.advice import offers as offering
from planner.advice.candidate import Candidate, Kind
from planner.advice.past import Past
from planner.advice.reasons import (
    REASON_KINDS,
    AgainstFeel,
    BeyondMost,
    CutShort,
    DoesNotPay,
    FlexHeat,
    HeldBack,
    Instead,
    MadeWorse,
    NextCause,
    NoNearer,
    OnSolidAxle,
    OtherCause,
    Reason,
    RuleOfThumb,
    Shown,
    TurnWants,
    Wear,
)
from planner.car.at_the_car import (
    AtTheCar,
    BallastMoved,
    CrossFollows,
    HotPressure,
    InTurn,
    JackTurns,
    KeptCross,
    NotComputed,
    PanhardHoles,
    StaggerFollows,
)
from planner.car.basis import Answered, Basis, BasisKind
from planner.car.car_model import FOR_EFFECTS
from planner.car.changes import BetweenSteps, BeyondRules, Change, Cut
from planner.chassis.mid_turn import MidTurn
from planner.judging.outcomes import FigureOutcome, Outcome
from planner.plan import moves
from planner.trade.corners import CORNERS
from planner.trade.estimate import Estimate
from planner.trade.units import System
from planner.words import at_the_car, offers
from planner.words import changes as change_words
from planner.words import patterns as pattern_words

BOOK = book()
SYSTEMS: tuple[System, ...] = get_args(System)
RF_CAMBER = Change("camber", "RF", 0.5, -3.0, -2.5)
LF_CAMBER = Change("camber", "LF", -0.25)
RR_TRIM = Change("pressure", "RR", -0.5, trim=True)
CUT = Cut(-2.5, highest=True, whose="car-file")
AT = ("camber", "RF")
SHOWING = day_of(RF_INNER_HOT).good[-1].patterns

REASONS: dict[Reason, str] = {
    CutShort(AT, CUT): "RF camber cut by the car file's limit (highest -2.5)",
    CutShort(("bar", "front"), Cut(0.0, highest=False, whose="any-car")): (
        "front bar cut by the end of its range (lowest 0)"
    ),
    CutShort(("pressure", "LF"), Cut(10.0, highest=False, whose="rules")): (
        "LF pressure cut by the cold pressures of the rules file (lowest 10; the tire maker's own "
        "count)"
    ),
    BeyondRules(("pressure", "LF"), 7.0, 10.0, highest=False): (
        "LF pressure to 7.0 psi is below the lowest cold pressure of the rules file, 10.0 psi; ask "
        "the tire maker first, or give limits.pressure in the car file"
    ),
    BeyondRules(("pressure", "RF"), 45.0, 40.0, highest=True): (
        "RF pressure to 45.0 psi is above the highest cold pressure of the rules file, 40.0 psi; "
        "ask the tire maker first, or give limits.pressure in the car file"
    ),
    DoesNotPay(): "expected to bring less than its work is worth",
    OnSolidAxle(("camber", "LR")): (
        "LR camber: the rear axle is solid and has no camber to turn, only other snouts or a bent "
        "tube do it"
    ),
    RuleOfThumb(AT, 1.0): "the rule of thumb alone says +1.00 deg",
    RuleOfThumb(AT, 3.25, most=1.0): (
        "the rule of thumb says +3.25 deg; 1.00 deg is the most in one move"
    ),
    NextCause("cross", 3): (
        "cross was moved the same way 3 times and the fault still shows: try the next cause, then "
        "cross again"
    ),
    MadeWorse(3): "step 3 made it worse",
    NoNearer(("split.RF", "crown.RF")): (
        "but by all runs together this would bring RF split and RF crown no nearer the target: "
        "look for something else that changed"
    ),
    AgainstFeel("loose", "exit"): (
        "the driver said loose at exit, and this frees the car up further. First run again on the "
        "same setup"
    ),
    AgainstFeel("tight"): (
        "the driver said tight, and this tightens the car further. First run again on the same "
        "setup"
    ),
    OtherCause("tight", "entry"): (
        "the driver said tight at entry: this frees the car up, and the heat may have another "
        "cause than the weight; one step, then ask the driver again"
    ),
    TurnWants(2.343, 1.5, 2.0): "the turn wants 2.34 in of stagger, 1.50 is on the car",
    TurnWants(2.343, 1.5, 1.0): (
        "the turn wants 2.34 in of stagger, 1.50 is on the car: this goes away from it, to 1.00; "
        "stagger is set for the turn, not to correct the handling"
    ),
    TurnWants(missing=("track.radius", "settings.stagger")): (
        "not checked against the stagger the turn wants: give track.radius, settings.stagger in "
        "the car file"
    ),
    TurnWants(): "not checked against the stagger the turn wants",
    BeyondMost(AT, 3.0, 1.0): ("RF camber by +3.00 deg: the rules allow 1.00 deg in one move"),
}
FLEX = FlexHeat("RR", 257.0, 248.0)
WEAR = Wear("1/32 in", {"LF": 1.0, "RF": 2.0, "LR": 1.0, "RR": 1.0})

ANSWERED = Answered(AT, 2, "split.RF", Estimate(-9.0, 1.8))
BASES: dict[Basis, str] = {
    Basis("rule-of-thumb"): "rule of thumb",
    Basis("rule-of-thumb", FOR_EFFECTS): (
        "rule of thumb; a car file with scales, springs, sizes and track computes it for this car"
    ),
    Basis("rule-of-thumb", ("track.radius", "[scales]")): (
        "rule of thumb; give track.radius, [scales] in the car file to compute it for this car"
    ),
    Basis("typical"): "computed for typical cars",
    Basis("typical", ("[scales]",)): (
        "computed for typical cars; give [scales] in the car file to compute it for this car"
    ),
    Basis("rule-of-thumb", trouble="No car holds that."): (
        "rule of thumb; cannot be computed from the car file: No car holds that."
    ),
    Basis("computed"): (
        "computed from your scales, springs, dimensions and track (tire grip and heat: a simple "
        "model, from memory)"
    ),
    Basis("taught"): "learned from this car on an earlier day",
    Basis("crew"): "the crew's own judgement",
    Basis("readings"): "the readings before and after the change",
}

SHIFTS = {"LF": -12.0, "RF": -13.0, "LR": 12.0, "RR": 13.0}
AT_THE_CAR: dict[type[AtTheCar], list[tuple[AtTheCar, tuple[str, ...]]]] = {
    JackTurns: [
        (
            JackTurns("LR", -1.75, -1.86, {"LF": 0.5, "RF": 0.0, "LR": -1.0}, 52.04, 51.06, 51.0),
            (
                "1.75 turns out of the LR jack (exactly 1.86): cross 52.0 → 51.1 %, from your "
                "scales and springs",
                "or with the ride heights kept: 0.5 turn into LF, 1 turn out of LR (cross 51.0 %)",
            ),
        ),
        (
            JackTurns("LR", -50.0, -50.0, {}, 52.0, 44.0, 44.0, travel=4.17, hooked=True),
            (
                "50 turns out of the LR jack: cross 52.0 → 44.0 %, from your scales and springs",
                "or with the ride heights kept:  (cross 44.0 %)",
                "is a bar hooked? It winds up with every turn: unhook one end, turn, and set its "
                "link without load",
                "is there so much travel? 4.2 in is more than most jacks have (from memory): move "
                "the spring seat, or change the length of the spring",
            ),
        ),
    ],
    KeptCross: [
        (
            KeptCross("RR", -0.5, -0.5, 51.8, 51.2, 51.79, 154.0, frees=True),
            (
                "with the jack untouched the cross would go 51.8 → 51.2 %, which frees the car "
                "up; 0.5 turn out of the RR jack brings back 51.8 % (springs of the same free "
                "length; 154 lb taken as unsprung); weigh it again",
            ),
        ),
        (
            KeptCross("RR", -48.0, -48.0, 51.8, 45.2, 51.79, 154.0, travel=4.0, pressed=6.0),
            (
                "with the jack untouched the cross would go 51.8 → 45.2 %, which tightens the car; "
                "48 turns out of the RR jack brings back 51.8 % (springs of the same free length; "
                "154 lb taken as unsprung); weigh it again",
                "is there travel left? The spring would stand pressed by 6.0 in, and most have 6 "
                "in before the coils touch (from memory)",
            ),
        ),
    ],
    HotPressure: [
        (
            HotPressure(30.52, 33.0, 26.0),
            ("expect 30.5 psi hot (was 33.0 from 26.0 cold; gas law)",),
        )
    ],
    BallastMoved: [
        (
            BallastMoved("rear", 52.0, SHIFTS, 49.1, 52.3, 51.8),
            (
                "moved by 52 in: LF -12, RF -13, LR +12, RR +13 lb on the scales: rear 49.1 %, "
                "left 52.3 %, cross 51.8 %; weigh the car again after it",
            ),
        ),
        (
            BallastMoved("rear", None, SHIFTS),
            (
                "moved by half the wheelbase: LF -12, RF -13, LR +12, RR +13 lb on the scales; "
                "weigh the car again after it",
            ),
        ),
        (
            BallastMoved("left", None, SHIFTS),
            (
                "moved by half the track: LF -12, RF -13, LR +12, RR +13 lb on the scales; weigh "
                "the car again after it",
            ),
        ),
    ],
    PanhardHoles: [
        (
            PanhardHoles(1, 1.0, 0.5),
            ("1 hole up at one end of the bar; holes 0.5 in apart",),
        ),
        (
            PanhardHoles(-4, -4.0, 0.75),
            ("4 holes down at one end of the bar, or 2 at each end; holes 0.75 in apart",),
        ),
        (
            PanhardHoles(1, 1.2, 0.5),
            ("1 hole up (exactly 1.20) at one end of the bar; holes 0.5 in apart",),
        ),
    ],
    StaggerFollows: [
        (
            StaggerFollows(-0.2, 1.3),
            ("moves the stagger by about -0.20 in, to 1.30: tape the rear tires again",),
        ),
        (StaggerFollows(0.1), ("moves the stagger by about +0.10 in: tape the rear tires again",)),
    ],
    CrossFollows: [
        (
            CrossFollows(51.79, 51.45, "LR", 0.75, 0.86, frees=True, corner="RR", height=0.05),
            (
                "the cross goes 51.79 → 51.45 % with it, which frees the car up; RR stands 0.05 in "
                "up. Weigh the car again and set the cross back: 0.75 turn into the LR jack "
                "(exactly 0.86)",
            ),
        ),
        (
            CrossFollows(51.79, 51.81, "LR", 0.0, -0.04, frees=False, corner="LF", height=-0.01),
            (
                "the cross goes 51.79 → 51.81 % with it, which tightens the car a little; LF "
                "stands 0.01 in down",
            ),
        ),
    ],
    NotComputed: [
        (
            NotComputed("cross"),
            ("give [scales] and settings.spring in the car file for the turns of the jack",),
        ),
        (
            NotComputed("spring"),
            ("weigh the car again after the spring, and set the cross weight as it was",),
        ),
        (
            NotComputed("stagger"),
            (
                "another tire moves the cross weight and the rear ride height: weigh the car again "
                "after it, and set the cross weight as it was",
            ),
        ),
    ],
}

HELD_BACK: dict[str, str] = {
    "hardly-moves": "RF camber is not offered: it would hardly move this car",
    "other-way": ("RF camber is not offered: what the car has shown says turn it the other way"),
    "no-room": "RF camber is not offered: no room left to the car file's limit (highest -2.5)",
    "no-way-back": (
        "putting RF camber back is not offered: no room left to the car file's limit (highest -2.5)"
    ),
    "wear": (
        "RF camber is not offered against the wear: no room left to the car file's limit "
        "(highest -2.5)"
    ),
    "turn-wants": "RF camber is not offered: the turn wants 0.00 in",
    "losing-air": (
        "RF camber is not offered: do not let air out of a tire that may be leaking; check it "
        "first, and if it holds air, make this your own change"
    ),
    "fixed": "RF camber is not offered: the car file says it cannot be turned",
    "solid-axle": (
        "RF camber is not offered: the rear axle is solid and has no camber to turn; pressure and "
        "stagger act on it a little"
    ),
}


def candidate(kind: Kind = "single", **rest: Any) -> Candidate:
    """Return a candidate of one kind."""
    shape: dict[str, Any] = {"changes": (RF_CAMBER,), "basis": (Basis("rule-of-thumb"),)} | rest
    return Candidate(id="1", kind=kind, **{"pattern": "camber.inner-hot"} | shape)


def why(of: Candidate, system: System = "us") -> str:
    return offers.why(of, SHOWING, BOOK, system)


@pytest.mark.parametrize(
    ("kind", "title"),
    [
        ("single", "RF camber +0.50 deg (more positive)"),
        ("bundle", "All at once: RF camber +0.50 deg (more positive)"),
        ("put-back", "Put back: RF camber +0.50 deg (more positive)"),
        ("own", "Our own: RF camber +0.50 deg (more positive)"),
        ("even-wear", "RF camber +0.50 deg (more positive)"),
    ],
)
def test_a_title_names_the_kind_and_the_own_changes(kind: Kind, title: str) -> None:
    one = candidate(kind, changes=(RF_CAMBER, RR_TRIM))
    assert offers.title(one) == offers.title(moves.in_brief(one, BOOK)) == title
    assert offers.source(one, BOOK) or kind in ("single", "bundle")


def test_every_kind_has_a_title() -> None:
    assert all(offers.title(candidate(kind)) for kind in get_args(Kind))


def test_several_changes_are_named_one_after_the_other() -> None:
    both = candidate("bundle", changes=(LF_CAMBER, RF_CAMBER))
    assert offers.title(both) == (
        "All at once: LF camber -0.25 deg (more negative), RF camber +0.50 deg (more positive)"
    )
    assert why(both).endswith("tires do not mask each other here")


def test_in_short_the_riding_trims_come_last() -> None:
    one = candidate("put-back", changes=(RF_CAMBER, RR_TRIM))
    assert offers.in_short(one, one.changes) == (
        "Put back: RF camber +0.50 deg; riding along: RR pressure -0.5 psi"
    )
    assert offers.in_short(one, ()) == "Put back: nothing changed"


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_kind_of_reason_has_words(system: System) -> None:
    told = {Shown, Wear, FlexHeat, *map(type, REASONS)}
    assert told == set(REASON_KINDS) == set(get_args(Reason))
    for reason, words in REASONS.items():
        assert why(candidate(reasons=(reason,)), system) == words
    average, highest = ("257 °F", "248 °F") if system == "us" else ("125.0 °C", "120.0 °C")
    assert why(candidate(reasons=(FLEX,)), system) == (
        f"RR averages {average}, above its working range ({highest}): less air makes a tire flex "
        "more, and flexing heats it"
    )


def test_what_the_tires_showed_comes_in_the_readers_units() -> None:
    (pattern,) = (p for p in SHOWING if p.key == "camber.inner-hot:RF")
    shown = candidate(reasons=(Shown(pattern.key), RuleOfThumb(AT, 1.0)))
    assert offers.reasons(shown, SHOWING, BOOK, "us") == (
        pattern_words.says(pattern, BOOK, "us"),
        "the rule of thumb alone says +1.00 deg",
    )
    assert why(candidate(reasons=(Shown("camber.inner-hot:LF"),))) == ""  # shown no longer


def test_wear_is_told_with_what_is_expected_of_it() -> None:
    predicted = {f"wear.{c}": Estimate(WEAR.lost[c] * 0.99, 0.01) for c in CORNERS}
    one = candidate("even-wear", pattern="wear.uneven", reasons=(WEAR,), predicted=predicted)
    wanted = "LF 1.00 → 0.99, RF 2.00 → 1.98, LR 1.00 → 0.99, RR 1.00 → 0.99"
    assert why(one) == f"expected wear a run (/32 in): {wanted}"
    percent = attrs.evolve(one, reasons=(attrs.evolve(WEAR, unit="percent"),))
    assert why(percent) == f"expected wear a run (% of tread): {wanted}"


def test_an_own_change_with_nothing_open_says_so() -> None:
    assert why(candidate("own")) == "no rule shows a fault here"


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_basis_has_words(system: System) -> None:
    assert {basis.kind for basis in BASES} == set(get_args(BasisKind))
    for basis, words in BASES.items():
        assert offers.rests_on(candidate(basis=(basis, basis)), system) == words
        resized = candidate(basis=(basis,), resized=True)
        assert offers.rests_on(resized, system) == f"{words}; size set by the crew"


@pytest.mark.parametrize(
    ("system", "words"), [("us", "-9.0 °F per deg, give or take 1.8 °F"),
                          ("metric", "-5.0 °C per deg, give or take 1.0 °C")]
)  # fmt: skip
def test_what_the_car_has_answered_is_told_in_the_readers_units(system, words) -> None:
    basis = Basis("rule-of-thumb", answered=ANSWERED)
    assert offers.rests_on(candidate(basis=(basis,)), system) == (
        "rule of thumb, corrected by this car's own answer (RF camber moved 2 times today): "
        f"RF split {words}"
    )
    once = attrs.evolve(basis, answered=attrs.evolve(ANSWERED, times=1))
    assert "moved once today" in offers.rests_on(candidate(basis=(once,)), system)


def test_the_source_is_that_of_the_rules_it_uses() -> None:
    used = candidate(uses=("camber", "camber", "pressure"))
    sources = [BOOK.adjustment[use].source for use in ("camber", "pressure")]
    assert offers.source(used, BOOK) == "; ".join(dict.fromkeys(sources))
    assert offers.source(candidate(uses=("gone",)), BOOK) == ""
    assert offers.source(candidate("own"), BOOK) == "the crew"
    assert offers.source(candidate("put-back"), BOOK) == "common practice, no source"


def test_every_line_of_work_at_the_car_has_words() -> None:
    assert set(AT_THE_CAR) == set(get_args(AtTheCar))
    for lines in AT_THE_CAR.values():
        for line, words in lines:
            assert at_the_car.how(line) == words


def test_the_turn_is_told_in_a_few_lines() -> None:
    now = MidTurn(
        {"LF": 404.0, "RF": 1375.0, "LR": 548.0, "RR": 1125.0},
        *(55.7, 58.1, (), 1.23),
        {"LF": 1.84, "LR": None},
    )
    after = attrs.evolve(now, cross=54.8, front_share=56.4, lifted=("LF",), lift_off={"LF": 1.2})
    assert at_the_car.in_the_turn(InTurn(now, after)) == (
        "at 1.23 g: cross weight 55.7 → 54.8 %, front share of the load transfer 58.1 → 56.4 %",
        "loads LF 404 → 404, RF 1375 → 1375, LR 548 → 548, RR 1125 → 1125 lb",
        "lifts LF at 1.84 g → 1.20 g",
        "LF off the ground",
    )
    level = attrs.evolve(now, front_share=None, lift_off={})
    assert at_the_car.in_the_turn(InTurn(level, level)) == (
        "at 1.23 g: cross weight 55.7 → 55.7 %",
        "loads LF 404 → 404, RF 1375 → 1375, LR 548 → 548, RR 1125 → 1125 lb",
    )


def test_every_reason_to_hold_back_has_words() -> None:
    (whys,) = (f.type for f in attrs.fields(HeldBack) if f.name == "why")
    assert set(HELD_BACK) == {word for part in get_args(whys) for word in get_args(part)}
    for reason, words in HELD_BACK.items():
        assert offers.held_back(HeldBack(AT, reason, CUT)) == words  # type: ignore[arg-type]
    others = (Instead(("cross", "car"), "-"), Instead(("ballast", "left"), "+"), Instead(AT))
    assert offers.held_back(HeldBack(AT, "fixed", instead=others)) == (
        f"{HELD_BACK['fixed']}; look at cross weight (wedge) (less weight on RF and LR), left "
        "ballast (moved to the left) or RF camber instead"
    )


def test_a_riding_trim_says_what_it_is_for() -> None:
    trim = Change("camber", "LF", 0.25, trim=True)
    one = candidate(
        changes=(RF_CAMBER, trim),
        trims_answer=("camber.inner-hot:LF",),
        predicted={"split.LF": Estimate(9.0, 3.6)},
    )
    assert offers.trim_reason(one, trim, BOOK, "metric") == (
        "LF split, expected +5.0 °C, give or take 2.0 °C → target +0.0 °C; worth doing while "
        "the car is in"
    )
    known = attrs.evolve(one, changes=(Change("spring", "RF", 25.0), trim), predicted={})
    assert offers.trim_reason(known, trim, BOOK, "us") == (
        "LF split, target +0.0 °F; worth doing while the car is in"
    )


# --- changes --------------------------------------------------------------------------------


def test_a_change_is_told_with_its_sense_and_its_settings() -> None:
    cross = Change("cross", "car", -0.5, 52.0, 51.5)
    assert change_words.in_words(cross) == (
        "cross weight (wedge) -0.50 % (less weight on RF and LR)"
    )
    assert change_words.from_to(cross) == "cross weight (wedge) from 52.00 % to 51.50 %"
    assert change_words.from_to(LF_CAMBER) == "LF camber: present setting not known"
    assert change_words.listed([cross, attrs.evolve(RF_CAMBER, amount=0.0)]) == (
        change_words.in_words(cross)
    )
    assert change_words.riding([RF_CAMBER]) == ""


def test_a_size_out_of_the_usual_is_told_with_both_numbers() -> None:
    assert change_words.between_steps(BetweenSteps(AT, 0.3, 0.25)) == (
        "RF camber by +0.30 deg: the car file goes in steps of 0.25 deg"
    )


def test_what_came_of_a_change_names_the_trims_that_came_out_apart() -> None:
    one = candidate(
        changes=(RF_CAMBER, RR_TRIM),
        answers=("camber.inner-hot:RF",),
        trims_answer=("pressure.over:RR",),
    )
    parts = (
        FigureOutcome("split.RF", 20.0, 2.0, 0.0, "better"),
        FigureOutcome("crown.RR", 2.0, 2.0, 0.0, "no-change"),
    )
    past = Past(3, one, one.changes)
    assert change_words.verdicts(past, BOOK) == ""
    judged = attrs.evolve(past, outcome=Outcome("better", 3, parts))
    assert change_words.verdict(judged) == "better"
    assert change_words.verdicts(judged, BOOK) == "better; RR pressure trim: no change"
    undone = attrs.evolve(judged, candidate=attrs.evolve(one, puts_back=1))
    assert change_words.verdict(undone) == "back to where it was"


def test_a_part_that_came_out_otherwise_names_what_was_chosen() -> None:
    past = Past(3, candidate(), (RF_CAMBER,))
    assert change_words.otherwise(past, RF_CAMBER) == ""
    half = attrs.evolve(RF_CAMBER, amount=0.25)
    assert change_words.otherwise(past, half) == "chosen +0.50 deg"
    assert change_words.otherwise(past, LF_CAMBER) == "not chosen"


@pytest.mark.parametrize("system", SYSTEMS)
def test_everything_really_laid_out_can_be_told(system: System) -> None:
    day = day_of(tires(GOOD, {"RF": 20.0, "LF": -14.0}, {"RR": 6.0}))
    situation = day.situation("camber")
    table = offering.lay_out(situation)
    assert [each.kind for each in table.candidates] == ["bundle", "single", "single"]
    for each in table.candidates:
        assert offers.why(each, situation.patterns, BOOK, system)
        assert offers.rests_on(each, system)
        assert offers.source(each, BOOK)
