"""A tire that was not read, or one reading of it: the run counts with what there is."""

import csv
import io
import json
import math

import jsonschema
import numpy as np
import pytest
from garage import FAULTS, Crew, run_command, stand, tire_options, tires

from planner.export import plan_schema
from planner.learning.observed import Observation, Priors
from planner.learning.response import NEVER_READ, learn
from planner.storage import planfile
from planner.trade import figures
from planner.trade.corners import CORNERS, UNREAD
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES, Noise

RR_OVER = tires(crown={"RR": 6.0})
NONE = (UNREAD,) * 3
CAMBERED = ["227 215 203", "211 210 209", "196 195 194", "208 210 212"]  # RF RR LR LF


def options(readings, **instead: str) -> list[str]:
    """Return the options of a run, some tires typed otherwise."""
    found = tire_options({c: t for c, t in readings.items() if c not in instead})
    return [*map(str, found), *(f"--tire={corner}={text}" for corner, text in instead.items())]


def recorded(crew: Crew, readings, *more: str, **instead: str):
    answer = crew.tries("record", *options(readings, **instead), *more)
    assert answer.status == 0, answer.err
    return answer.data


def test_the_figures_that_need_a_missing_reading_are_not_known() -> None:
    whole = figures.compute(RR_OVER)
    for tire, known in (
        (NONE, set()),
        ((205.0, UNREAD, 200.0), {"split.RR"}),
        ((205.0, 206.0, UNREAD), set()),
    ):
        found = figures.compute(RR_OVER | {"RR": tire})
        assert {n for n in ("average.RR", "split.RR", "crown.RR") if found.is_known(n)} == known
        assert not any(found.is_known(name) for name in ("balance", "rear", "cross_vs_right"))
        assert found["front_split_gap"] == whole["front_split_gap"]
        assert found["average.RF"] == whole["average.RF"]


def test_a_tire_not_read_is_recorded_and_judged_with_what_there_is(begun: Crew) -> None:
    status = recorded(begun, FAULTS["camber"], RR="-")
    assert (*stand(status), status["void"]) == ("camber", "choice", "")
    assert status["readings"]["RR"] == [None, None, None]
    assert status["figures"]["average"]["RR"] is None
    assert status["figures"]["balance"] is None
    assert status["figures"]["average"]["RF"] == pytest.approx(215.0)
    assert "RR not read: nothing is judged by the figures that need it" in status["beside"]
    told = " ".join(run_command("why", begun.path).out.split())
    assert "RR -/-/- (average not known)" in told
    text = run_command("status", begun.path).out
    assert "RR  average not known" in text
    assert "nan" not in text.lower() + told.lower()


def test_a_pattern_on_a_tire_that_was_not_read_is_not_judged(begun: Crew) -> None:
    assert stand(recorded(begun, RR_OVER)) == ("pressure", "choice")
    begun.changed()
    status = recorded(begun, RR_OVER, RR="-")
    assert not [p for p in status["patterns"] if p["corner"] == "RR"]
    assert status["last_outcome"]["verdict"] == "unclear"
    assert status["last_outcome"]["figures"] == []
    begun.tries("amend", status["step"], "--tire", "RR=200/210/200", "--reason", "read after all")
    (amended,) = [p for p in begun.status()["patterns"] if p["corner"] == "RR"]
    assert amended["id"] == "pressure.over"


def test_a_fault_that_an_earlier_run_has_read_stands_till_it_is_read_again(begun: Crew) -> None:
    """Nothing was changed: what the first run showed of RR is as true after the second."""
    first = begun.record(RR_OVER)
    status = recorded(begun, tires(), RR="-")
    assert stand(status) == ("pressure", "choice")
    (shown,) = [p for p in status["patterns"] if p["corner"] == "RR"]
    assert shown["says"].endswith("(by earlier runs; this one has no reading for it)")
    assert shown["value"] == pytest.approx(first["patterns"][0]["value"], abs=0.01)
    assert status["candidates"][0]["changes"][0]["corner"] == "RR"
    assert status["unjudged"] is None
    assert run_command("status", begun.path).status == 0


def test_what_no_run_has_read_keeps_the_day_from_its_end(begun: Crew) -> None:
    """A tire never read is as likely out of band as that of any car, however often the others are.

    By the spread a figure has from car to car (`NEVER_READ`) that alone is more than the twentieth
    of a fault with which a day may end.
    """
    for number in range(4):
        status = recorded(begun, tires(), "--note", str(number), RR="-")
        assert stand(status) == ("confirm", "run")
        assert 1 < status["expected_out"] < 3
    stages = ["camber", "pressure", "cross", "balance", "corners"]
    assert status["unjudged"] == {"corners": ["RR"], "stages": stages}
    shown = " ".join(run_command("status", begun.path).out.split())
    said = (
        "no run has read RR whole, so camber, pressure, cross, balance and corners cannot be "
        "called done"
    )
    assert f"{said}: read it, or move on with a reason" in shown
    assert begun.why(4)[0]["details"][-1]["says"].endswith("or move on with a reason")
    ended = begun.choose("--move-on", "--reason", "RR hub in the way")
    assert stand(ended) == ("complete", "nothing")
    shown = " ".join(run_command("status", begun.path).out.split())
    assert "camber, pressure, cross, balance, corners: no run has read RR whole" in shown


def test_pressures_of_a_tire_that_was_not_read_are_taken(begun: Crew) -> None:
    """Its gas has no temperature to be held against; that of the others has."""
    air = ("--air-temp", "72", "--cold", "RR=24", "--hot", "RR=28", "--cold", "RF=26")
    status = recorded(begun, tires(), *air, "--hot", "RF=60", RR="-")
    assert not [p for p in status["patterns"] if p["corner"] == "RR"]
    assert [p["corner"] for p in status["patterns"] if p["id"].startswith("pressure.")] == ["RF"]


def test_once_read_it_is_judged_by_all_runs(begun: Crew) -> None:
    recorded(begun, tires(), RR="-")
    status = begun.record(tires())
    assert status["unjudged"] is None
    assert status["expected_out"] < 1
    after = recorded(begun, tires(), RR="-")
    assert after["unjudged"] is None
    assert after["expected_out"] < status["expected_out"]
    assert "no run has read" not in run_command("status", begun.path).out


@pytest.mark.parametrize("tire", ["RR", "LF"])
def test_runs_without_it_teach_nothing_of_the_cars_own_balance(begun: Crew, tire: str) -> None:
    """A figure that was not read is no figure of a car in balance, and the plan stays readable."""
    for number in range(3):
        status = recorded(begun, tires(), "--note", str(number), **{tire: "-"})
        assert math.isfinite(status["expected_out"])
    assert run_command("status", begun.path, "--json").status == 0


def test_with_only_the_middle_missing_the_split_still_counts(begun: Crew) -> None:
    status = recorded(begun, tires(split={"RR": 22.0}), RR="206/-/184")
    assert [(p["id"], p["corner"]) for p in status["patterns"] if p["corner"] == "RR"] == [
        ("camber.inner-hot", "RR")
    ]
    assert "RR middle not read: nothing is judged by the figures that need it" in status["beside"]


def test_it_is_kept_exported_and_put_right(begun: Crew, tmp_path) -> None:
    recorded(begun, RR_OVER, "--laps", "9", RR="-", LF="205/-/200")
    kept = planfile.load(begun.path).step[0].run
    assert kept.tires["RR"] == NONE
    assert kept.tires["LF"] == (205.0, UNREAD, 200.0)
    assert 'RR = ["-", "-", "-"]' in begun.text()
    exported = run_command("export", begun.path, "--as", "json", "-o", tmp_path / "plan.json")
    assert exported.status == 0, exported.err
    data = json.loads((tmp_path / "plan.json").read_text("utf-8"))
    assert data["step"][0]["run"]["tires"]["RR"] == [None, None, None]
    jsonschema.validate(data, plan_schema.schema())
    begun.tries("export", "-o", tmp_path / "out")
    rows = list(csv.DictReader(io.StringIO((tmp_path / "out/readings.csv").read_text("utf-8"))))
    assert [row["temperature"] for row in rows if row["corner"] == "RR"] == ["", "", ""]
    assert run_command("report", begun.path, "-o", tmp_path / "day.html").status == 0
    page = (tmp_path / "day.html").read_text("utf-8")
    assert ">nan<" not in page.lower()
    begun.tries("amend", 1, "--tire", "RR=200/210/200", "--reason", "it was on the other sheet")
    told = " ".join(run_command("why", begun.path).out.split())
    assert "RR -/-/- °F → 200/210/200 °F" in told
    begun.tries("amend", 1, "--tire", "RF=-", "--reason", "probe was broken")
    assert begun.status()["readings"]["RF"] == [None, None, None]


def test_a_metric_plan_keeps_them_too(crew: Crew) -> None:
    crew.start("--units", "metric")
    celsius = dict.fromkeys(CORNERS, (95.0, 96.0, 95.0))
    recorded(crew, celsius, RR="-", LF="95/-/94")
    status = crew.status()
    assert status["readings"]["RR"] == [None, None, None]
    assert status["readings"]["LF"] == pytest.approx([203.0, None, 201.2])
    recorded(crew, celsius)  # the plan is read again, and goes on


@pytest.mark.parametrize("suffix", ["csv", "toml"])
def test_a_blank_cell_is_a_reading_that_was_not_taken(begun: Crew, tmp_path, suffix: str) -> None:
    csv_text = "corner,inner,middle,outer\nLF,205,,200\nRF,225,224,221\nLR,198,200,197\nRR,,,\n"
    toml_text = (
        'tire = {LF = [205, "-", 200], RF = [225, 224, 221], LR = [198, 200, 197], RR = ""}\n'
    )
    path = tmp_path / f"run.{suffix}"
    path.write_text(csv_text if suffix == "csv" else toml_text, "utf-8")
    answer = begun.tries("record", "--from", path)
    assert answer.status == 0, answer.err
    assert answer.data["readings"]["RR"] == [None, None, None]
    assert answer.data["readings"]["LF"] == [205.0, None, 200.0]


def test_a_tire_that_is_only_forgotten_is_refused_and_none_at_all_too(begun: Crew) -> None:
    answer = begun.tries("record", *options({c: t for c, t in RR_OVER.items() if c != "RR"}))
    assert answer.status == 2
    assert "--tire RR=- where it was not read" in answer.data["error"]["try"]
    nothing = begun.tries("record", *options({}, LF="-", RF="-", LR="-", RR="-"))
    assert nothing.data["error"]["message"] == "No tire was read: there is nothing to record."
    assert planfile.load(begun.path).step == ()


def test_read_again_where_the_first_reading_is_missing_puts_nothing_back(begun: Crew) -> None:
    more = ("--order", "RF,RR,LR,LF", "--again", "RF=220/215/210")
    status = recorded(begun, RR_OVER, *more, RF="-")
    assert any("RF was not read whole the first time" in said for said in status["beside"])


# --- the model ------------------------------------------------------------------------------------

CAMBER = ("camber", "RF")
EFFECTS = {CAMBER: {"split.RF": Estimate(-12.0, 5.0), "average.RR": Estimate(1.0, 2.0)}}
NOISE = Noise(3.0, 2.0)


def seen(moved: float, gone: tuple[str, ...] = ()) -> Observation:
    draw = np.random.default_rng(int(10 * moved) + 7)
    base = {name: float(draw.normal(200 if "average" in name else 2, 4)) for name in BASE_FIGURES}
    return Observation(base | dict.fromkeys(gone, UNREAD), {CAMBER: moved} if moved else {})


def closed_form(runs: list[Observation]):
    """Solve the normal equations with the rows of missing figures deleted [Gelman, ch. 14]."""
    size = 12 + 2
    precision, right = np.zeros((size, size)), np.zeros(size)
    slopes = {"split.RF": 12, "average.RR": 13}
    for name, column in slopes.items():
        effect = EFFECTS[CAMBER][name]
        precision[column, column] += 1 / effect.sd**2
        right[column] += effect.mean / effect.sd**2
    for each in runs:
        read = [n for n in BASE_FIGURES if not math.isnan(each.base[n])]
        design = np.zeros((len(read), size))
        noise = np.diag([figures.SHARE[n] * 9.0 for n in read])
        for i, name in enumerate(read):
            design[i, BASE_FIGURES.index(name)] = 1.0
            if name in slopes:
                design[i, slopes[name]] = each.moved.get(CAMBER, 0.0)
            for j, other in enumerate(read):
                if name.startswith("average") and other.startswith("average"):
                    noise[i, j] += 4.0
        weight = np.linalg.inv(noise)
        precision += design.T @ weight @ design
        right += design.T @ weight @ np.array([each.base[n] for n in read])
    covariance = np.linalg.inv(precision)
    return covariance @ right, covariance


@pytest.mark.parametrize(
    "gone",
    [
        ("average.RR", "split.RR", "crown.RR"),
        ("average.LF", "crown.LF"),
        ("average.LF", "average.RF", "average.RR", "split.RF"),
    ],
)
def test_the_model_learns_as_if_the_missing_rows_were_deleted(gone: tuple[str, ...]) -> None:
    runs = [seen(0.0), seen(1.0, gone), seen(2.0), seen(0.5, gone[:1])]
    known = learn(runs, Priors(EFFECTS, conditions={}, noise=NOISE, alike=0.0))
    mean, covariance = closed_form(runs)
    order = [*range(12), *(12 + i for i in _slopes(known))]
    assert known.mean == pytest.approx(mean[order])
    assert known.covariance == pytest.approx(covariance[np.ix_(order, order)], abs=1e-9)


def _slopes(known) -> list[int]:
    at = {"camber.RF split.RF": 0, "camber.RF average.RR": 1}
    return [at[name] for name in known.parameters[12:]]


def test_what_no_run_has_read_is_what_is_ordinary_and_hardly_known() -> None:
    gone = ("average.RR", "split.RR", "crown.RR")
    known = learn([seen(0.0, gone)], Priors({}, conditions={}, noise=NOISE))
    split = known.estimate("split.RR")
    assert (split.mean, split.sd) == pytest.approx((0.0, NEVER_READ["split"]))
    averages = [seen(0.0).base[f"average.{corner}"] for corner in ("LF", "RF", "LR")]
    average = known.estimate("average.RR")
    assert average.mean == pytest.approx(sum(averages) / 3)
    assert average.sd == pytest.approx(NEVER_READ["average"])
    whole = learn([seen(0.0)], Priors({}, conditions={}, noise=NOISE))
    assert known.estimate("average.RF").sd == pytest.approx(whole.estimate("average.RF").sd)


# --- in the guide ---------------------------------------------------------------------------------


def test_in_the_guide_a_dash_leaves_a_tire_out_once_that_is_meant(guide_with, begun: Crew) -> None:
    guide = guide_with("day.toml")
    guide.types(CAMBERED[0], "-")
    guide.sees("Not read: RR. Figures that need it are not known for this run")
    guide.sees("Leave it out")
    guide.types("n")
    guide.sees(r"RR \(inner middle outer\)> ")
    guide.types("-", "")
    guide.sees(r"LR \(inner middle outer\)> ")
    guide.types("196 - 194")
    guide.sees("Not read: LR middle")
    guide.sees("Leave it out")
    guide.leaves("killed")
    guide = guide_with("day.toml")
    guide.sees("Go on with it")
    guide.types("", "196 - 194", "", CAMBERED[3])
    guide.sees("anything else> ")
    guide.leaves("killed")
    guide = guide_with("day.toml")
    assert "RR - - -" in guide.sees("Go on with it")
    guide.types("", "", "")
    guide.sees("Stored as step 1")
    kept = planfile.load(begun.path).step[0].run
    assert kept.tires["RR"] == NONE
    assert kept.tires["LR"] == (196.0, UNREAD, 194.0)
    guide.types("amend RR 211 210 209", "found it", "")
    guide.sees("RR -/-/- °F → 211/210/209 °F")
    guide.sees("Stored as step 2")
