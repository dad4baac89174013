"""Readings that are possible but look like a slip of the pen: asked about, never changed.

The sizes are from memory, as the module says.
"""

import math

import numpy as np
import pytest
from garage import RR_OVER, Crew, run, run_command, stand, tire_options, tires
from scipy import stats

from planner.learning import mistyped
from planner.learning.observed import Observation, Priors
from planner.learning.response import learn
from planner.run import slips
from planner.run.slips import Question, questions
from planner.trade import figures
from planner.trade.corners import CORNERS
from planner.trade.figures import Noise
from planner.words.slips import of_air


def asked(tire, corner="RF", before=None, system="us") -> list[Question]:
    older = None if before is None else {**tires(), corner: before}
    return list(questions({**tires(), corner: tire}, older, system))


def test_ordinary_readings_are_not_questioned() -> None:
    assert questions(tires()) == ()
    assert asked((235.0, 224.0, 213.0)) == []
    assert asked((180.0, 220.0, 182.0)) == []  # 39 off: odd, but a tire can be


@pytest.mark.parametrize(
    ("tire", "meant"),
    [
        ((212.0, 21.0, 214.0), (212.0, 210.0, 214.0)),  # a digit left out
        ((212.0, 273.0, 214.0), (212.0, 213.0, 214.0)),  # a wrong one
        ((122.0, 210.0, 214.0), (212.0, 210.0, 214.0)),  # two swapped
        ((212.0, 210.0, 2140.0), (212.0, 210.0, 214.0)),  # one too many
    ],
)
def test_a_digit_slip_is_asked_about_with_what_may_have_been_meant(tire, meant) -> None:
    (question,) = asked(tire)
    assert question.corner == "RF"
    assert question.odd == "far-strip"
    right = question.instead["RF"]
    changed = [i for i in range(3) if right[i] != tire[i]]
    (place,) = changed
    assert abs(right[place] - meant[place]) <= 12.5


def test_where_nothing_near_can_be_meant_it_is_still_asked_about() -> None:
    (question,) = asked((212.0, 20.0, 214.0), system="metric")
    assert (question.odd, question.reads, question.strip) == ("far-strip", 20.0, "middle")


@pytest.mark.parametrize(("off", "count"), [(45.0, 0), (46.0, 1)])
def test_how_far_a_strip_may_stand_alone(off: float, count: int) -> None:
    assert len(asked((210.0, 210.0 + off, 210.0))) == count


def test_a_scorching_tire_is_asked_about() -> None:
    (question,) = asked((351.0, 340.0, 335.0))
    assert (question.odd, question.reads, question.strip) == ("too-hot", 351.0, "inner")
    assert asked((350.0, 340.0, 335.0)) == []


@pytest.mark.parametrize(("risen", "count"), [(70.0, 0), (71.0, 1), (-71.0, 1)])
def test_a_tire_far_from_its_last_run_is_asked_about(risen: float, count: int) -> None:
    after = (215.0 + risen,) * 3
    assert len(asked(after, before=(215.0, 215.0, 215.0))) == count


def test_questions_come_with_the_record_and_nothing_is_changed(begun: Crew) -> None:
    odd = tires() | {"RF": (212.0, 273.0, 214.0)}
    options = [x for c, t in odd.items() for x in ("--tire", f"{c}={'/'.join(map(str, t))}")]
    answer = begun.tries("record", *options)
    assert answer.status == 0
    assert "Look again first: RF middle" in answer.err
    assert answer.data["readings"]["RF"] == [212.0, 273.0, 214.0]
    assert stand(begun.status()) == ("pressure", "choice")


def test_a_run_read_in_the_other_unit_is_asked_about() -> None:
    celsius = tires({"LF": 84.0, "RF": 104.0, "LR": 80.0, "RR": 90.0})
    (question,) = slips.questions(celsius)
    assert question.odd == "in-celsius"
    assert not slips.questions(celsius, system="metric")
    fahrenheit = dict.fromkeys(celsius, (390.0, 391.0, 392.0))  # 199 °C
    (question,) = slips.questions(fahrenheit, system="metric")
    assert question.odd == "in-fahrenheit"
    one_warm = celsius | {"RF": (180.0, 180.0, 180.0)}
    assert not [q for q in slips.questions(one_warm) if q.odd == "in-celsius"]


def test_pressures_that_are_hardly_psi_are_asked_about() -> None:
    asked = slips.pressures(run(tires(), cold={"LF": 1.7, "RF": 16.0}, hot={"LF": 2.3}))
    assert [(each.corner, each.when, each.odd, each.read) for each in asked] == [
        ("LF", "cold", "too-low", {"LF": 1.7}),
        ("LF", "hot", "too-low", {"LF": 2.3}),
    ]
    assert not slips.pressures(run(tires(), cold={"LF": 5.0}))


def test_what_is_in_doubt_comes_with_the_way_to_put_it_right(begun: Crew) -> None:
    wrong = tires() | {"RR": (204.0, 21.0, 203.0)}
    data = begun.tries("record", *tire_options(wrong), "--hot", "LF=2.3").data
    middle, pressure = data["look_again"]
    assert middle.startswith("RR middle 21 °F is far from its neighbours; was 201 °F meant?")
    assert f"amend {begun.path} 1 --tire RR=204/201/203 --reason slip" in middle
    assert pressure.endswith(f"amend {begun.path} 1 --hot LF=PSI --reason slip")
    mended = begun.tries("amend", "1", "--tire", "RR=204/201/203", "--reason", "slip")
    assert "look_again" not in mended.data or len(mended.data["look_again"]) == 1
    assert "look_again" not in begun.status()


KNOWN = {"LF": 18.0, "RF": 28.0, "LR": 17.0, "RR": 26.0}


@pytest.mark.parametrize(
    ("cold", "meant"),
    [
        ((28.0, 18.0, 17.0, 26.0), "LF 18, RF 28"),
        ((28.0, 26.0, 17.0, 18.0), "LF 18, RF 28, RR 26"),  # in reading order
        ((29.5, 19.5, 18.5, 27.5), "LF 19.5, RF 29.5"),  # and a warm day
        ((18.0, 26.0, 17.0, 28.0), "RF 28, RR 26"),
        ((18.5, 27.5, 17.5, 26.5), ""),
        ((18.0, 28.0, 17.0, 20.0), ""),  # one tire is low: no exchange mends that
        ((20.0, 30.0, 19.0, 28.0), ""),
    ],
)
def test_cold_pressures_of_exchanged_tires_are_asked_about(cold, meant: str) -> None:
    typed = dict(zip(KNOWN, cold, strict=True))
    asked = slips.pressures(run(tires(), cold=typed), KNOWN)
    assert len(asked) == bool(meant)
    if meant:
        assert asked[0].odd == "exchanged"
        assert f"Then it is {meant}." in of_air(asked[0])
        assert asked[0].instead is not None
        assert sorted(asked[0].instead.values()) == sorted(cold)
    assert not slips.pressures(run(tires(), cold=typed))


def test_record_tells_of_exchanged_pressures_by_the_last_run_and_what_was_changed(
    begun: Crew,
) -> None:
    def cold(*psi: float) -> list[str]:
        return [f"--cold={corner}={value:g}" for corner, value in zip(KNOWN, psi, strict=True)]

    readings = tire_options(RR_OVER)
    assert "look_again" not in begun.tries("record", *readings, *cold(18, 28, 17, 26)).data
    begun.choose("--own", "pressure:RR:-2", "--reason", "it is over-inflated")
    begun.made()
    (said,) = begun.tries("record", *readings, *cold(28, 24, 17, 18)).data["look_again"]
    assert "Then it is LF 18, RF 28, RR 24." in said
    options = "--cold LF=18 --cold RF=28 --cold LR=17 --cold RR=24"
    assert said.endswith(f"amend {begun.path} 4 {options} --reason slip")


def split_of(crew: Crew, split: float) -> list[str]:
    """Record a run with that split at RF and a fault elsewhere; return what looks like a slip."""
    answer = crew.tries("record", *tire_options(tires(split={"RF": split}, crown={"RR": 6.0})))
    assert answer.status == 0, answer.err
    found: list[str] = answer.data.get("look_again", [])
    return found


def own(crew: Crew, change: str) -> None:
    crew.choose("--own", change, "--reason", "to see")
    crew.made()


def test_edges_swapped_by_little_show_against_all_earlier_runs(begun: Crew) -> None:
    assert split_of(begun, 9.0) == []
    own(begun, "pressure:RR:-0.5")
    assert split_of(begun, 8.0) == []
    own(begun, "pressure:RR:-0.5")
    (said,) = split_of(begun, -9.0)
    assert "RF reads -9.0 °F from inner to outer, but +8" in said
    assert "were the edges swapped? If it is a slip" in said
    assert "--tire RF=210.5/215/219.5" not in said
    assert "--tire RF=219.5/215/210.5" in said


@pytest.mark.parametrize("split", [-6.0, 24.0, -29.0])
def test_a_split_that_is_only_a_little_off_or_no_better_turned_is_not_asked_about(
    begun: Crew, split: float
) -> None:
    assert split_of(begun, 9.0) == []
    own(begun, "pressure:RR:-0.5")
    assert split_of(begun, split) == []


def test_a_split_that_a_change_has_turned_is_not_asked_about(begun: Crew) -> None:
    split_of(begun, 12.0)
    own(begun, "pressure:RR:-0.5")
    split_of(begun, 12.0)
    own(begun, "camber:RF:2")
    assert split_of(begun, -12.0) == []  # -24 was expected of two degrees


# Readings of a car in band, RR 21 degF above LR, as in the middle of a day.
STEADY = tires({"LF": 200.0, "RF": 219.0, "LR": 190.0, "RR": 211.0}, crown={"RF": 5.0})


def looked_at(crew: Crew, readings) -> list[str]:
    answer = crew.tries("record", *tire_options(readings))
    assert answer.status == 0, answer.err
    found: list[str] = answer.data.get("look_again", [])
    return found


def warmer(readings, by: float):
    return {corner: tuple(t + by for t in tire) for corner, tire in readings.items()}


def exchanged(readings, *corners: str):
    """Move the reading of each of the corners to the next one, and the last one's to the first."""
    return readings | dict(zip(corners[1:] + corners[:1], map(readings.get, corners), strict=True))


@pytest.mark.parametrize("runs", [1, 2, 3])
@pytest.mark.parametrize(
    ("corners", "by"), [(("LR", "RR"), 0.0), (("LR", "RR"), 20.0), (("LF", "RF"), -20.0)]
)
def test_two_tires_exchanged_are_asked_about_on_a_hotter_or_cooler_run_too(
    begun: Crew, runs: int, corners, by: float
) -> None:
    for _ in range(runs):
        assert looked_at(begun, warmer(STEADY, 0.5)) == []
        own(begun, "pressure:LF:-0.5")
    typed = exchanged(warmer(STEADY, by), *corners)
    (said,) = looked_at(begun, typed)
    names = " and ".join(corners)
    assert said.startswith(f"{names} fit all runs so far if exchanged, and not as typed")
    right = warmer(STEADY, by)
    for corner in corners:
        assert f"--tire {corner}={'/'.join(f'{t:g}' for t in right[corner])}" in said
    # Put right by the command that is told, nothing is asked any more.
    options = tire_options({corner: right[corner] for corner in corners})
    put = begun.tries("amend", 2 * runs + runs + 1, *options, "--reason", "slip")
    assert "look_again" not in put.data


def test_three_tires_read_in_another_order_are_asked_about_together(begun: Crew) -> None:
    for _ in range(2):
        looked_at(begun, STEADY)
        own(begun, "pressure:LF:-0.5")
    (said,) = looked_at(begun, exchanged(STEADY, "LF", "RF", "RR"))
    assert said.startswith("LF and RF and RR fit all runs so far if exchanged")


@pytest.mark.parametrize(
    "readings",
    [
        STEADY,
        warmer(STEADY, 40.0),
        exchanged(STEADY, "LF", "LR") | {"LF": (197.0,) * 3, "LR": (197.0,) * 3},
        STEADY | {"RR": (165.0,) * 3},  # one tire is cool: no exchange mends that
        STEADY | {"RR": (150.0,) * 3, "LR": (240.0,) * 3},  # fits neither way
    ],
)
def test_what_an_exchange_does_not_explain_is_not_called_one(begun: Crew, readings) -> None:
    looked_at(begun, STEADY)
    own(begun, "pressure:LF:-0.5")
    assert not any("exchanged" in said for said in looked_at(begun, readings))


def test_the_first_run_has_nothing_to_be_held_against(begun: Crew) -> None:
    assert looked_at(begun, exchanged(STEADY, "LR", "RR")) == []


def test_an_amended_run_is_held_against_the_runs_before_it(begun: Crew) -> None:
    looked_at(begun, STEADY)
    own(begun, "pressure:LF:-0.5")
    looked_at(begun, STEADY)
    wrong = exchanged(STEADY, "LR", "RR")
    both = tire_options({corner: wrong[corner] for corner in ("LR", "RR")})
    answer = begun.tries("amend", 4, *both, "--reason", "typed anew")
    (said,) = answer.data["look_again"]
    assert said.startswith("LR and RR fit all runs so far if exchanged")


@pytest.mark.parametrize("freedom", [1, 3, 6, 9, 12])
@pytest.mark.parametrize("distance", [0.0, 0.5, 4.0, 20.0, 60.0])
def test_the_chance_of_a_distance_is_that_of_the_tables(freedom: int, distance: float) -> None:
    """Against scipy's chi-square."""
    expected = stats.chi2.sf(distance, freedom)
    assert mistyped.chance_beyond(distance, freedom) == pytest.approx(expected, rel=1e-10)


@pytest.mark.parametrize(("split", "count"), [(-9.5, 1), (-9.3, 1), (-9.1, 0), (-5.0, 0)])
def test_the_likelihood_ratio_is_that_of_the_normal_density(split: float, count: int) -> None:
    """Edges on either side of the brink, weighed with scipy's multivariate normal."""
    noise = Noise(3.0, 2.0)
    usual = figures.compute(dict.fromkeys(CORNERS, (200.0,) * 3)).base | {"split.RF": 9.0}
    known = learn([Observation(usual)], Priors({}, conditions={}, noise=noise))
    mean, covariance = known.joint(figures.BASE_FIGURES)
    names = figures.BASE_FIGURES
    covariance = covariance + np.diag([figures.SHARE[n] for n in names]) * 9.0
    covariance[:4, :4] += mistyped.DAYS_HEAT**2
    at = stats.multivariate_normal(mean, covariance)
    typed, mirrored = ([(usual | {"split.RF": x})[n] for n in names] for x in (split, -split))
    ratio = float(at.logpdf(mirrored) - at.logpdf(typed))
    assert (ratio > math.log(mistyped.CLEARLY)) == bool(count)
    edges = {"RF": (200 + split / 2, 200.0, 200 - split / 2)}
    tires = dict.fromkeys(CORNERS, (200.0, 200.0, 200.0)) | edges
    assert len(mistyped.questions(known, {}, tires)) == count


@pytest.mark.parametrize(
    ("times", "odd"),
    [
        ((15.9, 15.8, 158.0, 15.8), "lap 3 took 158 s; the others took about 15.80 s"),
        ((15.9, 11.5, 15.8, 15.8), "lap 2 took 11.5 s"),
        ((19.9, 19.8, 17.8, 19.7), "lap 3 took 17.8 s"),
        ((28.0, 15.8, 15.9, 15.8), ""),
        ((15.9, 15.8, 17.5, 15.8), ""),
        ((15.9, 158.0), ""),
    ],
)
def test_a_lap_time_with_a_digit_too_many_is_asked_about(begun: Crew, times, odd: str) -> None:
    typed = ",".join(f"{lap:g}" for lap in times)
    asked = begun.tries("record", *tire_options(tires()), "--lap-times", typed).data
    assert asked.get("look_again", [""])[0].startswith(odd)
    assert ("look_again" in asked) == bool(odd)
    if odd:
        assert f"--lap-times {typed} --reason slip" in asked["look_again"][0]


def test_words_come_before_the_advice_they_concern(begun: Crew) -> None:
    wrong = tire_options(tires() | {"RR": (204.0, 21.0, 203.0)})
    shown = run_command("record", begun.path, *wrong).out
    assert shown.startswith("Look again first: RR middle 21 °F is far from its neighbours")
    assert shown.index("amend") < shown.index("Do now")
