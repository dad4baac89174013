"""Readings that are possible but look like a slip of the pen: asked about, never changed.

The sizes are from memory, as the module says.
"""

import pytest
from garage import Crew, run, stand, tire_options, tires

from planner import slips
from planner.slips import Question, questions


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
    assert "far from its neighbours" in question.says
    assert question.instead is not None
    changed = [i for i in range(3) if question.instead[i] != tire[i]]
    (place,) = changed
    assert abs(question.instead[place] - meant[place]) <= 12.5


def test_where_nothing_near_can_be_meant_it_is_still_asked_about() -> None:
    (question,) = asked((212.0, 20.0, 214.0), system="metric")
    assert "far from its neighbours" in question.says


@pytest.mark.parametrize(("off", "count"), [(45.0, 0), (46.0, 1)])
def test_how_far_a_strip_may_stand_alone(off: float, count: int) -> None:
    assert len(asked((210.0, 210.0 + off, 210.0))) == count


def test_a_scorching_tire_is_asked_about() -> None:
    (question,) = asked((351.0, 340.0, 335.0))
    assert "hotter than a tire stands" in question.says
    assert asked((350.0, 340.0, 335.0)) == []


def test_swapped_edges_show_against_the_run_before() -> None:
    (question,) = asked((205.0, 215.0, 225.0), before=(225.0, 215.0, 205.0))
    assert "edges swapped" in question.says
    assert question.instead == (225.0, 215.0, 205.0)
    assert asked((215.0, 215.0, 205.0), before=(225.0, 215.0, 205.0)) == []


@pytest.mark.parametrize(("risen", "count"), [(70.0, 0), (71.0, 1), (-71.0, 1)])
def test_a_tire_far_from_its_last_run_is_asked_about(risen: float, count: int) -> None:
    after = (215.0 + risen,) * 3
    assert len(asked(after, before=(215.0, 215.0, 215.0))) == count


def test_questions_come_with_the_record_and_nothing_is_changed(begun: Crew) -> None:
    odd = tires() | {"RF": (212.0, 273.0, 214.0)}
    options = [x for c, t in odd.items() for x in ("--tire", f"{c}={'/'.join(map(str, t))}")]
    answer = begun.tries("record", *options)
    assert answer.status == 0
    assert "Look again: RF middle" in answer.err
    assert answer.data["readings"]["RF"] == [212.0, 273.0, 214.0]
    assert stand(begun.status()) == ("pressure", "choice")


def test_words_are_in_the_plans_unit() -> None:
    (question,) = asked((212.0, 273.2, 212.0), system="metric")
    assert "134.0 °C" in question.says


def test_a_run_read_in_the_other_unit_is_asked_about() -> None:
    celsius = tires({"LF": 84.0, "RF": 104.0, "LR": 80.0, "RR": 90.0})
    (question,) = slips.questions(celsius)
    assert "as if read in °C; the plan is in °F" in question.says
    assert not slips.questions(celsius, system="metric")
    fahrenheit = dict.fromkeys(celsius, (390.0, 391.0, 392.0))  # 199 °C
    (question,) = slips.questions(fahrenheit, system="metric")
    assert "as if read in °F; the plan is in °C" in question.says
    one_warm = celsius | {"RF": (180.0, 180.0, 180.0)}
    assert not [q for q in slips.questions(one_warm) if "°C" in q.says]


def test_pressures_that_are_hardly_psi_are_asked_about() -> None:
    said = slips.pressures(run(tires(), cold={"LF": 1.7, "RF": 16.0}, hot={"LF": 2.3}))
    assert [each.partition(" is hardly")[0] for each in said] == [
        "LF 1.7 psi cold",
        "LF 2.3 psi hot",
    ]
    assert "1.7bar" in said[0]
    assert not slips.pressures(run(tires(), cold={"LF": 5.0}))


def test_what_is_in_doubt_comes_with_the_way_to_put_it_right(begun: Crew) -> None:
    wrong = tires() | {"RR": (204.0, 21.0, 203.0)}
    data = begun.tries("record", *tire_options(wrong), "--hot", "LF=2.3").data
    middle, pressure = data["look_again"]
    assert middle.startswith("RR middle 21 °F is far from its neighbours; was 201 °F meant?")
    assert f"amend {begun.path} 1 --tire RR=204/201/203 --reason slip" in middle
    assert "--hot or --cold" in pressure
    mended = begun.tries("amend", "1", "--tire", "RR=204/201/203", "--reason", "slip")
    assert "look_again" not in mended.data or len(mended.data["look_again"]) == 1
    assert "look_again" not in begun.status()
