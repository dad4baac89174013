"""What rides along with a stage's change: worth its work, sized with it, within every limit."""

from collections.abc import Iterator

import attrs
import pytest
from garage import FAULTS, RF_INNER_HOT, STAGES, TIGHT, Crew, book, day_of, laid_out, stand, tires
from invented import Driven, clock, driven_days, new_plan

from planner.advice import do_now
from planner.advice.candidate import Candidate
from planner.advice.choices import cost_of
from planner.advice.outlook import TIRE_KNOBS, Outlook
from planner.car.car_file import Car
from planner.car.changes import Change, moves_of
from planner.plan import moves
from planner.plan.day import Day
from planner.plan.fold import replay
from planner.plan.steps import ChoiceStep
from planner.run.readings import Run
from planner.trade.cautions import CAUTIONS
from planner.trade.knobs import KnobLimits

BOOK = book()
# A tight car whose right front inner edge is hot, within its band.
FIRST = tires(TIGHT, {"RF": 22.0})
THEN = tires(TIGHT, {"RF": 9.0})


def day_after(*runs, car: Car | None = None) -> Day:
    """Return the day after some runs, a change of camber taken in between."""
    day = replay(new_plan(BOOK, car=car or Car()), BOOK)
    now = clock()
    for readings in runs:
        if day.due == "choice":
            amount = 1.0 if day.stage == "camber" else None
            day = moves.made(moves.choose(day, "1", next(now), amount=amount), next(now))
        day = moves.record(day, Run(readings), next(now))
    return day


def ridden(candidate: Candidate) -> dict[tuple[str, str], float]:
    """Return what rides along with a candidate."""
    return {c.setting: c.amount for c in candidate.changes if c.trim}


def rides(day: Day) -> dict[tuple[str, str], float]:
    """Return what rides along with the first candidate on the table."""
    return ridden(day.table().candidates[0])


def loss_and_work(outlook: Outlook, changes: tuple[Change, ...]) -> float:
    """Return what is left out of band after some changes, with their work."""
    minutes = [BOOK.adjustments_of(*change.setting)[0].minutes for change in changes]
    return float(outlook.faults_after(moves_of(changes)).loss) + cost_of(minutes)


def chosen_with_trims() -> Iterator[tuple[Driven, int, ChoiceStep]]:
    """Yield every choice of the driven days that something rode along with."""
    for driven in driven_days():
        for number, step in enumerate(driven.day.plan.step):
            if (
                isinstance(step, ChoiceStep)
                and step.chosen is not None
                and step.chosen.own_changes
                and any(change.trim for change in step.chosen.changes)
            ):
                yield driven, number, step


# --- what rides along -----------------------------------------------------------------------------


def test_from_the_first_change_on_a_tire_off_its_aim_rides_along_with_the_balance() -> None:
    day = day_after(tires(TIGHT, {"RF": 9.0, "LR": -9.0}))
    assert (day.stage, day.due) == ("balance", "choice")
    found = rides(day)
    assert found[("camber", "RF")] > 0  # toward the cool edge
    assert found[("camber", "LR")] < 0
    (first, *others) = day.table().candidates
    assert [c.trim for c in first.changes] == sorted(c.trim for c in first.changes)
    assert {"split.RF", "split.LR"} <= set(first.predicted)
    assert not any(ridden(each) for each in others)


def test_nothing_rides_along_on_tires_that_are_at_their_aim() -> None:
    day = day_after(tires(TIGHT))
    assert (day.stage, day.due) == ("balance", "choice")
    assert rides(day) == {}


@pytest.mark.parametrize("stage", STAGES)
def test_what_moves_load_is_turned_in_its_own_stage_only(stage: str) -> None:
    readings = FAULTS[stage]
    for candidate in laid_out(readings, stage):
        for knob, _ in ridden(candidate):
            assert knob in TIRE_KNOBS


def test_every_part_takes_more_off_than_its_work() -> None:
    day = day_after(tires(TIGHT, {"RF": 9.0, "LR": -9.0}, {"LF": 2.5}))
    outlook = day.situation("balance").outlook
    (first, *_) = day.table().candidates
    assert sum(c.trim for c in first.changes) >= 2
    whole = loss_and_work(outlook, first.changes)
    for left_out in first.changes:
        rest = tuple(change for change in first.changes if change is not left_out)
        assert loss_and_work(outlook, rest) > whole


def test_no_other_step_of_any_part_would_leave_less() -> None:
    day = day_after(tires(TIGHT, {"RF": 9.0, "LR": -9.0}))
    outlook = day.situation("balance").outlook
    (first, *_) = day.table().candidates
    whole = loss_and_work(outlook, first.changes)
    for part in first.changes:
        (entry, *_) = BOOK.adjustments_of(*part.setting)
        for amount in (part.amount - entry.step, part.amount + entry.step):
            if amount and abs(amount) <= entry.most:
                other = tuple(
                    attrs.evolve(c, amount=amount) if c is part else c for c in first.changes
                )
                assert loss_and_work(outlook, other) >= whole - 1e-9


def test_what_goes_on_now_is_as_if_made_in_one_stop() -> None:
    (first, *_) = day_after(tires(TIGHT, {"RF": 9.0})).table().candidates
    minutes = [BOOK.adjustments_of(*change.setting)[0].minutes for change in first.changes]
    assert first.minutes == sum(minutes)


# --- limits ---------------------------------------------------------------------------------------


def test_a_limit_holds_a_trim_back_or_cuts_it() -> None:
    def rides_with(highest: float) -> float | None:
        car = Car(settings={"camber": {"RF": -3.0}}, limits={"camber": KnobLimits(max=highest)})
        return rides(day_after(THEN, car=car)).get(("camber", "RF"))

    wide = rides_with(-1.0)
    assert wide is not None
    assert wide > 0.25
    assert rides_with(-2.75) == 0.25
    assert rides_with(-3.0) is None


def test_a_trim_is_in_the_cars_own_steps() -> None:
    fine = Car(limits={"camber": KnobLimits(step=0.125)})
    amount = rides(day_after(THEN, car=fine))[("camber", "RF")]
    assert amount / 0.125 == pytest.approx(round(amount / 0.125))


def test_no_air_rides_out_of_a_tire_that_may_be_losing_it() -> None:
    over = tires(TIGHT, crown={"LR": 3.0, "RR": 3.0})
    car = Car(settings={"pressure": {"LR": 16.0, "RR": 24.0}})
    (sound, *_) = laid_out(over, "balance", car=car)
    assert {("pressure", "LR"), ("pressure", "RR")} <= set(ridden(sound))
    (losing, *_) = laid_out(over, "balance", car=car, cold={"LR": 14.0})
    assert ("pressure", "RR") in ridden(losing)
    assert ("pressure", "LR") not in ridden(losing)


def test_a_knob_that_is_fixed_does_not_ride_along(tmp_path) -> None:
    (tmp_path / "car.toml").write_text('[limits.camber]\nRF = "fixed"\n', "utf-8")
    crew = Crew(tmp_path / "day.toml")
    crew.start("--car", tmp_path / "car.toml")
    (first, *_) = crew.record(THEN)["candidates"]
    assert ("camber", "RF") not in [(c["knob"], c["corner"]) for c in first["changes"]]


def test_stagger_is_no_part_of_what_is_done_now() -> None:
    """It is set for the turn; and a rear pressure, which changes it, does not ride with it."""
    found = laid_out(tires(TIGHT, crown={"RR": 2.5}), "balance")
    with_stagger = [c for c in found if ("stagger", "rear") in {x.setting for x in c.changes}]
    assert with_stagger
    for each in with_stagger:
        assert len(each.changes) == 1


# --- many days ------------------------------------------------------------------------------------


def test_every_ride_of_two_dozen_days_kept_the_rules_of_riding_along() -> None:
    seen = 0
    for driven, number, step in chosen_with_trims():
        then = replay(attrs.evolve(driven.day.plan, step=driven.day.plan.step[:number]), BOOK)
        outlook, chosen = then.situation(step.stage).outlook, step.chosen
        assert chosen is not None
        whole = loss_and_work(outlook, chosen.changes)
        if chosen.kind != "put-back":
            assert whole < loss_and_work(outlook, chosen.own_changes)
        for change in chosen.changes:
            if change.trim:
                seen += 1
                assert change.knob in TIRE_KNOBS
                (entry, *_) = BOOK.adjustments_of(*change.setting)
                assert abs(change.amount) <= entry.most
                assert change.amount / entry.step == pytest.approx(
                    round(change.amount / entry.step)
                )
    assert seen >= 5, "too few trims to say anything"


def test_the_gate_holds_what_is_there_whatever_may_ride_along() -> None:
    """Every fault more likely there than not holds its stage, the earliest first."""
    day = day_of(RF_INNER_HOT)
    now = day.situation("camber")
    holding = do_now.holding(now.outlook, now.limits, now.stands, 0.05)
    faults = now.outlook.faults.chance.tolist()
    bands = now.outlook.bands.bands
    assert holding == {b.key for b, chance in zip(bands, faults, strict=True) if chance > 0.5}
    assert "camber.inner-hot:RF" in holding
    assert do_now.holding(now.outlook, now.limits, now.stands, 100.0) == frozenset()


# --- through the commands -------------------------------------------------------------------------


@pytest.fixture
def at_balance(begun: Crew) -> Crew:
    """A crew with a trim on offer beside a balance change."""
    assert stand(begun.record(THEN)) == ("balance", "choice")
    return begun


def parts_of(candidate) -> tuple[list, list]:
    """Return own changes and trims of a candidate as told."""
    parts = candidate["changes"]
    return [c for c in parts if not c["trim"]], [c for c in parts if c["trim"]]


def test_a_trim_is_listed_apart_made_judged_and_learned_from(at_balance: Crew) -> None:
    own, (trim,) = parts_of(at_balance.status()["candidates"][0])
    assert len(own) == 1  # of what moves load, one knob at a stop
    assert own[0]["knob"] in ("cross", "ballast", "bar", "spring", "panhard")
    assert (trim["knob"], trim["corner"]) == ("camber", "RF")
    assert trim["amount"] > 0
    assert stand(at_balance.changed()) == ("balance", "run")
    # The trim brings the split in; nothing else has moved.
    outcome = at_balance.record(tires(TIGHT, {"RF": -1.0}))["last_outcome"]
    verdicts = {each["figure"]: each["verdict"] for each in outcome["figures"]}
    assert verdicts["split.RF"] == "better"
    assert verdicts["balance"] != "better"
    assert outcome["verdict"] == verdicts["balance"]  # the step is judged by its own change


def test_what_a_trim_did_is_learned_from() -> None:
    def sensitivity(split: float):
        day = day_after(THEN, tires(TIGHT, {"RF": split}))
        return day.known.sensitivity(("camber", "RF"), "split.RF")

    moved_much, moved_little = sensitivity(-4.0), sensitivity(9.0)
    assert moved_much.mean < moved_little.mean - 1.0
    assert moved_much.sd < day_after(THEN).known.sensitivity(("camber", "RF"), "split.RF").sd


def test_no_trims_leaves_them_out(at_balance: Crew) -> None:
    (before, *_) = at_balance.status()["candidates"]
    own, _ = parts_of(before)
    status = at_balance.choose(1, "--no-trims")
    assert stand(status) == ("balance", "change")
    assert status["pending"]["changes"] == own
    assert status["pending"]["aims"] == ["balance.tight"]
    assert "split.RF" not in status["pending"]["predicted"]
    assert stand(at_balance.made()) == ("balance", "run")


@pytest.mark.parametrize(
    ("crown", "pattern", "sign"), [(3.0, "pressure.over:LF", -1), (-3.0, "pressure.under:LF", 1)]
)
def test_a_trim_names_the_pattern_it_answers_and_its_cautions_leave_with_it(
    begun: Crew, crown: float, pattern: str, sign: int
) -> None:
    status = begun.record(tires(TIGHT, crown={"LF": crown}))
    assert stand(status) == ("balance", "choice")
    (candidate, *_) = status["candidates"]
    _, (trim,) = parts_of(candidate)
    assert (trim["knob"], trim["corner"]) == ("pressure", "LF")
    assert trim["amount"] * sign > 0
    assert candidate["aims"] == ["balance.tight", pattern]
    assert CAUTIONS["inflation"] in candidate["cautions"]
    pending = begun.choose(1, "--no-trims")["pending"]
    assert pending["cautions"] == [c for c in candidate["cautions"] if c != CAUTIONS["inflation"]]
    assert pending["cautions"]  # those of the change itself stay


def test_another_amount_of_the_own_change_leaves_the_trim_as_it_is(begun: Crew) -> None:
    (first, *_) = begun.record(tires(split={"RF": 20.0}, crown={"LF": 3.0}))["candidates"]
    (own,), ride = parts_of(first)
    assert (own["knob"], own["corner"]) == ("camber", "RF")
    assert ride
    changes = begun.choose(1, "--amount", 0.5)["pending"]["changes"]
    assert parts_of({"changes": changes})[0][0]["amount"] == 0.5
    assert parts_of({"changes": changes})[1] == ride


# --- one change at a stop -------------------------------------------------------------------------


def test_a_crew_that_makes_one_change_at_a_stop_is_offered_no_more(crew: Crew) -> None:
    crew.start("--one-change")
    two = tires(TIGHT, {"RF": 24.0, "LR": -17.0}, {"RR": 6.0})
    offered = crew.record(two)["candidates"]
    assert {each["changes"][0]["corner"] for each in offered} == {"RF", "LR"}
    assert [len(each["changes"]) for each in offered] == [1] * len(offered)
    assert crew.status()["one_change"] is True
    crew.changed()
    crew.record(tires(TIGHT, {"RF": 8.0, "LR": -8.0}))
    assert all(len(each["changes"]) == 1 for each in crew.status()["candidates"])


def test_otherwise_both_go_on_at_once(crew: Crew) -> None:
    crew.start()
    first = crew.record(tires(TIGHT, {"RF": 24.0, "LR": -17.0}, {"RR": 6.0}))["candidates"][0]
    assert len(first["changes"]) >= 2
    assert crew.status()["one_change"] is False
    assert "one_change" not in crew.text()


def test_a_stage_is_held_for_what_one_change_gains_where_no_more_is_made() -> None:
    """What could ride along counts for nothing then."""
    day = day_after(tires(split=dict.fromkeys(("LF", "RF", "LR", "RR"), 8.5)))
    outlook = Outlook(day.known, BOOK)
    together, alone = (
        do_now._gain("camber", outlook, day.limits, lambda *_: None, one_change)
        for one_change in (False, True)
    )
    assert together > alone > 0
