"""Riding trims: small, well known, in a later stage only, and never in the way of the test."""

from collections.abc import Iterator

import attrs
import pytest
from garage import TIGHT, Crew, book, stand, tires
from invented import Driven, clock, driven_days, new_plan, rule_of_thumb

from planner.advice import trims
from planner.advice.outlook import Outlook
from planner.car.car_file import Car
from planner.car.changes import Change, moves_of
from planner.car.limits import Limits
from planner.learning.observed import Observation, Priors
from planner.learning.response import learn
from planner.plan import moves
from planner.plan.day import Day
from planner.plan.fold import replay
from planner.plan.steps import ChoiceStep
from planner.rulebook.rules import TUNING_ORDER
from planner.run.readings import Run
from planner.trade import figures
from planner.trade.cautions import CAUTIONS
from planner.trade.estimate import Estimate
from planner.trade.knobs import KnobLimits

BOOK = book()
CAMBER = ("camber", "RF")
# A tight car whose right front camber was a fault, was moved a degree, and is now nearly right.
FIRST = tires(TIGHT, {"RF": 22.0})
THEN = tires(TIGHT, {"RF": 6.0})


def day_after(*runs, car: Car | None = None) -> Day:
    """Return the day after some runs, the first candidate taken in between."""
    day = replay(new_plan(BOOK, car=car or Car()), BOOK)
    now = clock()
    for readings in runs:
        if day.due == "choice":
            amount = 1.0 if day.stage == "camber" else None
            day = moves.made(moves.choose(day, "1", next(now), amount=amount), next(now))
        day = moves.record(day, Run(readings), next(now))
    return day


def ridden(day: Day) -> list[tuple[str, str, float]]:
    """Return the trims that ride along with the first candidate on the table."""
    return [(c.knob, c.corner, c.amount) for c in day.table().candidates[0].changes if c.trim]


def chosen_with_trims() -> Iterator[tuple[Driven, int, ChoiceStep, list[Change]]]:
    """Yield every choice of the driven days that trims rode along with."""
    for driven in driven_days():
        for number, step in enumerate(driven.day.plan.step):
            if isinstance(step, ChoiceStep) and step.chosen is not None:
                ride = [change for change in step.chosen.changes if change.trim]
                if ride:
                    yield driven, number, step, ride


def test_a_camber_that_this_car_has_answered_rides_along_with_a_balance_change() -> None:
    day = day_after(FIRST, THEN)
    assert (day.stage, day.due) == ("balance", "choice")
    assert ridden(day) == [("camber", "RF", 0.5)]
    (candidate, *_) = day.table().candidates
    assert [change.trim for change in candidate.changes] == [False, True]
    assert "split.RF" in candidate.predicted


def test_a_camber_that_was_never_moved_does_not_ride_along() -> None:
    # The same present readings and the same known error, but nobody has turned that knob.
    day = day_after(THEN)
    assert (day.stage, day.due) == ("balance", "choice")
    assert ridden(day) == []


def test_a_knob_that_answered_unclearly_does_not_ride_along() -> None:
    effects = rule_of_thumb(BOOK) | {CAMBER: {"split.RF": Estimate(-12.0, 9.0)}}
    assert riding(effects, split_after=6.0)
    # An answer of about 2 a degree, give or take 4: perhaps none at all.
    assert not riding(effects, split_after=22.0)


def riding(effects, split_after: float, under_test=("balance",), **rest):
    """Return the trims after the camber was moved by a degree, the answer being as told."""
    before = Observation(figures.compute(FIRST).base)
    after = Observation(
        figures.compute(tires(TIGHT, {"RF": split_after})).base, moved={CAMBER: 1.0}
    )
    outlook = Outlook(learn([before, after], Priors(effects)), BOOK)
    stage = rest.pop("stage", "balance")
    return trims.riding(stage, {}, under_test, outlook, rest.pop("settings", {}), Limits())


def test_nothing_rides_along_in_its_own_stage_or_an_earlier_one() -> None:
    effects = rule_of_thumb(BOOK)
    assert riding(effects, 6.0, stage="camber") == ()
    for stage in TUNING_ORDER[1:]:
        assert [trim.change.setting for trim in riding(effects, 6.0, stage=stage)] == [CAMBER]


def test_a_trim_that_would_blur_the_figure_under_test_stays_behind() -> None:
    effects = rule_of_thumb(BOOK)
    spreading = {"split.RF": Estimate(-12.0, 5.0), "average.RF": Estimate(-5.0, 1.0)}
    assert riding(effects, 6.0)
    assert not riding(effects | {CAMBER: spreading}, 6.0)
    # Where the average is not under test the same trim is welcome.
    assert riding(effects | {CAMBER: spreading}, 6.0, under_test=("crown.LR",))


def test_a_limit_holds_a_trim_back_or_cuts_it() -> None:
    def car(highest: float) -> Car:
        return Car(settings={"camber": {"RF": -3.0}}, limits={"camber": KnobLimits(max=highest)})

    assert ridden(day_after(FIRST, THEN, car=car(-1.0))) == [("camber", "RF", 0.5)]
    assert ridden(day_after(FIRST, THEN, car=car(-1.75))) == [("camber", "RF", 0.25)]
    assert ridden(day_after(FIRST, THEN, car=car(-2.0))) == []


def test_a_trim_is_at_most_two_of_the_cars_own_steps() -> None:
    fine = Car(limits={"camber": KnobLimits(step=0.125)})
    ((_, _, amount),) = ridden(day_after(FIRST, THEN, car=fine))
    assert amount == 0.25


def test_every_trim_of_two_dozen_days_kept_the_rules_of_riding_along() -> None:
    seen = 0
    for driven, number, step, ride in chosen_with_trims():
        seen += len(ride)
        plan = driven.day.plan
        then = replay(attrs.evolve(plan, step=plan.step[:number]), BOOK)
        assert step.stage in TUNING_ORDER
        answered = {change.setting for past in then.past for change in past.made if change.amount}
        outlook = Outlook(then.known, BOOK)
        own = [change for change in step.chosen.changes if not change.trim]
        own_aims = step.chosen.own_aims(BOOK)
        under_test = [name for aim in own_aims for name in aim.figures]
        here = outlook.after(under_test, {})
        for change in ride:
            belongs, now = (TUNING_ORDER.index(at) for at in (change.knob, step.stage))
            same = belongs == now and any(c.knob == change.knob for c in own)
            assert same or (belongs < now and change.setting in answered)
            (entry, *_) = BOOK.adjustments_of(*change.setting)
            assert abs(change.amount) in (entry.step, 2 * entry.step)
            there = outlook.after(under_test, moves_of([change]))
            for name in under_test:
                assert abs(there[name].mean - here[name].mean) <= 1.0
    assert seen >= 5, "too few trims to say anything"


def test_trims_change_neither_the_own_changes_nor_the_gate(monkeypatch) -> None:
    with_trims = day_after(FIRST, THEN)
    monkeypatch.setattr(trims, "riding", lambda *_, **__: ())
    without = day_after(FIRST, THEN)
    own = [
        [change for change in candidate.changes if not change.trim]
        for candidate in with_trims.table().candidates
    ]
    assert own == [list(candidate.changes) for candidate in without.table().candidates]
    assert with_trims.good[-1].patterns == without.good[-1].patterns
    assert (with_trims.stage, with_trims.due) == (without.stage, without.due)


# --- through the commands -----------------------------------------------------------------------


@pytest.fixture
def at_balance(begun: Crew) -> Crew:
    """A crew with a trim on offer beside a balance change."""
    begun.record(FIRST)
    begun.changed(1, "--amount", 1)
    assert stand(begun.record(THEN)) == ("balance", "choice")
    return begun


def test_a_trim_is_listed_apart_made_judged_and_learned_from(at_balance: Crew) -> None:
    own, trim = at_balance.status()["candidates"][0]["changes"]
    assert (own["knob"], own["trim"]) == ("cross", False)
    assert (trim["knob"], trim["corner"], trim["amount"], trim["trim"]) == (
        "camber",
        "RF",
        0.5,
        True,
    )
    after = at_balance.changed()
    assert stand(after) == ("balance", "run")
    # The trim brings the split in; the cross weight does nothing for the balance.
    outcome = at_balance.record(tires(TIGHT, {"RF": -1.0}))["last_outcome"]
    verdicts = {each["figure"]: each["verdict"] for each in outcome["figures"]}
    assert verdicts["split.RF"] == "better"
    assert verdicts["balance"] != "better"
    assert outcome["verdict"] == verdicts["balance"]  # the step is judged by its own change


def test_what_a_trim_did_is_learned_from() -> None:
    def sensitivity(split: float):
        day = day_after(FIRST, THEN, tires(TIGHT, {"RF": split}))
        return day.known.sensitivity(CAMBER, "split.RF")

    moved_much, moved_little = sensitivity(-4.0), sensitivity(6.0)
    assert moved_much.mean < moved_little.mean - 1.0
    assert moved_much.sd < day_after(FIRST, THEN).known.sensitivity(CAMBER, "split.RF").sd


def test_no_trims_leaves_them_out(at_balance: Crew) -> None:
    (before, *_) = at_balance.status()["candidates"]
    status = at_balance.choose(1, "--no-trims")
    assert stand(status) == ("balance", "change")
    (change,) = status["pending"]["changes"]
    own = {**before["changes"][0]}
    assert change == own
    assert status["pending"]["aims"] == ["balance.tight"]
    assert "split.RF" not in status["pending"]["predicted"]
    assert stand(at_balance.made()) == ("balance", "run")


@pytest.mark.parametrize(
    ("crown", "next_crown", "pattern", "sign"),
    [(9.0, 2.5, "pressure.over:LF", -1), (-9.0, -2.5, "pressure.under:LF", 1)],
)
def test_a_trim_names_the_pattern_it_answers_and_its_cautions_leave_with_it(
    begun: Crew, crown: float, next_crown: float, pattern: str, sign: int
) -> None:
    begun.record(tires(TIGHT, crown={"LF": crown}))
    begun.changed()
    status = begun.record(tires(TIGHT, crown={"LF": next_crown}))
    assert stand(status) == ("balance", "choice")
    (candidate, *_) = status["candidates"]
    own, trim = candidate["changes"]
    assert (own["knob"], trim["knob"], trim["trim"]) == ("cross", "pressure", True)
    assert trim["amount"] * sign > 0
    assert candidate["aims"] == ["balance.tight", pattern]
    assert CAUTIONS["inflation"] in candidate["cautions"]
    pending = begun.choose(1, "--no-trims")["pending"]
    assert pending["cautions"] == [c for c in candidate["cautions"] if c != CAUTIONS["inflation"]]
    assert CAUTIONS["stands"] in pending["cautions"]


def test_another_amount_of_the_own_change_leaves_the_trim_as_it_is(at_balance: Crew) -> None:
    changes = at_balance.choose(1, "--amount", -0.5)["pending"]["changes"]
    assert [(c["knob"], c["amount"]) for c in changes] == [("cross", -0.5), ("camber", 0.5)]
