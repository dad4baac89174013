"""How far a setting may go, what cannot be turned at all, and heat that is looked at first.

Which pressures are too low or too high is from memory (rules/*.toml say so): the tests hold that
nothing is offered past them, not the numbers.
"""

from pathlib import Path

import attrs
import pytest
from garage import RF_INNER_HOT, Crew, book, day_of, run_command, table_of, tires
from keyboard import Scripted

from planner.advice.reasons import FlexHeat, HeldBack, Instead
from planner.car import car_file, changes, limits
from planner.car.car_file import Car, Suspension
from planner.export import status_object
from planner.rulebook import checks, rules_file
from planner.trade.corners import CORNERS, Turns
from planner.trade.knobs import KnobLimits, Limit
from planner.words import offers

OVER = dict.fromkeys(CORNERS, 6.0)
UNDER = dict.fromkeys(CORNERS, -6.0)
OVAL = book().cold_pressure


def with_air(**psi: float) -> Car:
    """Return a car of which only cold pressures are known."""
    return Car(settings={"pressure": psi})


def pressures_offered(table) -> dict[str, float]:
    """Return where the offers would set each tire, the furthest of them."""
    found: dict[str, float] = {}
    for candidate in table.candidates:
        for change in candidate.changes:
            if change.knob == "pressure" and change.after is not None:
                found[change.corner] = change.after
    return found


# --- lowest and highest cold pressure -------------------------------------------------------


@pytest.mark.parametrize("name", rules_file.BUNDLED)
def test_the_rules_have_a_floor_and_a_ceiling_and_say_where_from(name: str) -> None:
    air = book(name).cold_pressure
    assert air.outside is not None
    assert "from memory" in air.source or "http" in air.source
    if name == "paved-oval":
        assert air.inside is not None
        assert air.inside[0] <= air.outside[0]  # the outside tire carries more


def test_a_tire_at_the_floor_is_offered_no_less_air() -> None:
    """LF 8 psi was offered 5, and then 3."""
    table = table_of(tires(crown={"LF": 6.0}), "pressure", car=with_air(LF=8.0))
    assert not pressures_offered(table)
    (held,) = [h for h in table.held_back if h.setting == ("pressure", "LF")]
    assert held.why == "no-room"
    assert held.cut == changes.Cut(OVAL.inside[0], highest=False, whose="rules")
    # What the trade does instead: load on the tire, and its camber.
    assert held.instead == (
        Instead(("cross", "car"), "-"),
        Instead(("ballast", "left"), "+"),
        Instead(("camber", "LF")),
    )


def test_a_tire_at_the_ceiling_is_offered_no_more_air() -> None:
    """RF 42 psi was offered 45."""
    table = table_of(tires(crown={"RF": -6.0}), "pressure", car=with_air(RF=42.0))
    assert not pressures_offered(table)
    (held,) = [h for h in table.held_back if h.setting == ("pressure", "RF")]
    assert held.cut == changes.Cut(OVAL.outside[1], highest=True, whose="rules")
    assert Instead(("cross", "car"), "-") in held.instead  # which takes load off it


def test_a_tire_past_the_floor_is_offered_air() -> None:
    table = table_of(tires(crown={"LF": -6.0}), "pressure", car=with_air(LF=8.0))
    assert pressures_offered(table)["LF"] > 8.0


@pytest.mark.parametrize("turns", ["left", "right"])
@pytest.mark.parametrize("crown", [OVER, UNDER])
@pytest.mark.parametrize("psi", [11.0, 15.5, 34.5, 39.5])
def test_no_offer_leads_past_the_ends_of_the_rules(turns: Turns, crown, psi: float) -> None:
    start = dict.fromkeys(CORNERS, psi)
    table = table_of(tires(crown=crown), "pressure", car=with_air(**start), turns=turns)
    outside = ("RF", "RR") if turns == "left" else ("LF", "LR")
    for corner, after in pressures_offered(table).items():
        low, high = OVAL.outside if corner in outside else OVAL.inside
        assert min(low, psi) <= after <= max(high, psi)


def test_on_a_road_course_every_tire_is_an_outside_tire() -> None:
    rules = book("road-course", "both")
    found = limits.of(Car(), rules.cold_ends("both"))
    for corner in CORNERS:
        room = found.room("pressure", corner)
        assert (room.min, room.max) == rules.cold_pressure.outside
        assert room.min_by_rules
        assert room.max_by_rules


def test_the_car_file_comes_before_the_rules() -> None:
    car = attrs.evolve(with_air(LF=8.0), limits={"pressure": KnobLimits(min=6.0, step=0.5)})
    table = table_of(tires(crown={"LF": 6.0}), "pressure", car=car)
    assert 6.0 <= pressures_offered(table)["LF"] < 8.0
    found = limits.of(car, book().cold_ends("left"))
    lowest = found.room("pressure", "LF")
    assert (lowest.min, lowest.min_by_rules) == (6.0, False)
    assert (lowest.max, lowest.max_by_rules) == (OVAL.inside[1], True)
    # A file whose highest lies below the rules' lowest has no lowest of the rules.
    odd = limits.of(Car(limits={"pressure": KnobLimits(max=9.0)}), book().cold_ends("left"))
    assert odd.room("pressure", "LF").min is None


def test_a_tire_of_which_only_the_hot_pressure_is_known_had_no_more_when_cold() -> None:
    over = tires(crown={"RF": 6.0})
    assert table_of(over, "pressure").candidates
    table = table_of(over, "pressure", hot={"RF": 15.0})
    assert not [c for c in table.candidates if c.changes[0].corner == "RF"]
    assert HeldBack in {type(h) for h in table.held_back if h.setting == ("pressure", "RF")}


def test_without_pressures_in_the_rules_nothing_ends_there() -> None:
    found = limits.Limits()
    assert found.room("pressure", "LF").min is None
    assert not found.room("pressure", "LF").min_by_rules


# --- the crew's own pressure past the rules -------------------------------------------------


@pytest.fixture
def crew(tmp_path: Path) -> Crew:
    (tmp_path / "car.toml").write_text("[settings]\npressure = {LF = 11.0, RF = 39.0}\n", "utf-8")
    crew = Crew(tmp_path / "day.toml")
    crew.start("--car", tmp_path / "car.toml")
    return crew


def test_an_own_change_past_the_rules_is_taken_and_cautioned(crew: Crew) -> None:
    crew.record(tires(crown={"LF": 6.0}))
    status = crew.choose("--own", "pressure:LF:-4", "--reason", "the tire maker says 6")
    said = "LF pressure to 7.0 psi is below the lowest cold pressure of the rules file, 10.0 psi"
    assert status["cautions"][0].startswith(said)
    assert said in status["pending"]["why"]
    status = crew.made()
    assert "LF pressure is 7.0 psi, below the lowest cold pressure" in status["cautions"][0]
    assert "if it was read hot, it is less still when cold" in status["cautions"][0]
    status = crew.record(tires())
    assert not any("cold pressure of the rules" in each for each in status["cautions"])
    assert said in " ".join(run_command("why", crew.path, "--plain").out.split())


def test_another_amount_past_the_rules_is_cautioned(crew: Crew) -> None:
    crew.record(tires(crown={"RF": -6.0}))
    status = crew.choose("1", "--amount", "3")
    assert any("RF pressure to 42.0 psi is above the highest" in c for c in status["cautions"])


def test_a_car_that_comes_with_less_air_than_the_rules_have_is_questioned(tmp_path: Path) -> None:
    (tmp_path / "car.toml").write_text("[settings]\npressure = {LF = 8.0, RF = 42.0}\n", "utf-8")
    status = Crew(tmp_path / "day.toml").start("--car", tmp_path / "car.toml")
    assert "LF pressure is 8.0 psi, below" in status["cautions"][0]
    assert "RF pressure is 42.0 psi, above" in status["cautions"][1]


def test_a_cold_pressure_read_past_the_rules_is_questioned_once(crew: Crew) -> None:
    def said(status) -> list[str]:
        return [each for each in status["cautions"] if "cold pressure of the rules" in each]

    (one,) = said(crew.record(RF_INNER_HOT, "--cold", "LF=8", "--cold", "RF=26"))
    assert one.startswith("LF pressure is 8.0 psi, below")
    assert not said(crew.choose(1))
    assert not said(crew.made())


def test_past_a_limit_of_the_car_file_it_is_still_refused(tmp_path: Path) -> None:
    (tmp_path / "car.toml").write_text(
        "[settings]\npressure = {LF = 11.0}\n[limits]\npressure = {min = 10.0}\n", "utf-8"
    )
    crew = Crew(tmp_path / "day.toml")
    crew.start("--car", tmp_path / "car.toml")
    crew.record(tires(crown={"LF": 6.0}))
    refused = crew.tries("choose", "--own", "pressure:LF:-4", "--reason", "x")
    assert (refused.status, refused.error["code"]) == (2, "beyond-limit")


def test_the_guide_asks_once_more_before_a_pressure_past_the_rules(crew: Crew) -> None:
    crew.record(tires(crown={"LF": 6.0}))
    desk = Scripted(crew.path.parent, "guide", "day.toml")
    desk.types("o LF pressure -4", "softer sidewall", "")
    shown = desk.sees("Take it all the same")
    assert "below the lowest cold pressure of the rules file" in " ".join(shown.split())
    desk.leaves("q")
    assert crew.status()["due"] == "choice"  # Enter is a no


# --- less air in a tire that is too warm ----------------------------------------------------

WARM = {"LF": 210.0, "RF": 215.0, "LR": 195.0, "RR": 250.0}


def test_letting_air_out_of_a_warm_tire_says_that_flexing_heats_it() -> None:
    table = table_of(tires(WARM, crown={"RR": 6.0, "LR": 6.0}), "pressure", car=with_air(RR=24.0))
    for candidate in table.candidates:
        told = [each for each in candidate.reasons if isinstance(each, FlexHeat)]
        lets_out = any(c.setting == ("pressure", "RR") for c in candidate.changes)
        assert [each.corner for each in told] == (["RR"] if lets_out else [])
    assert any(c.changes[0].corner == "RR" for c in table.candidates)


def test_more_air_in_a_warm_tire_needs_no_such_word() -> None:
    table = table_of(tires(WARM, crown={"RR": -6.0}), "pressure")
    assert table.candidates
    assert not [r for c in table.candidates for r in c.reasons if isinstance(r, FlexHeat)]


# --- a tire so hot that it is looked at first -----------------------------------------------


def hot(corner: str = "RF", inner: float = 302.0) -> dict[str, tuple[float, float, float]]:
    return tires() | {corner: (inner, 285.0, 270.0)}


def test_at_300_the_tire_is_looked_at_before_anything_is_changed(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    status = crew.record(hot())
    (first,) = status["come_in"]
    assert (first["corner"], first["strip"], first["value"], first["limit"]) == (
        "RF",
        "inner",
        302.0,
        300.0,
    )
    assert first["says"].startswith("come in, look at the tire: RF inner read 302 °F.")
    assert "ask the tire maker" in first["says"]
    assert status["beside"][0] == first["says"]
    shown = run_command("status", crew.path, "--plain").out
    assert shown.index("Come in, look at the tire") < shown.index("inner  middle")
    assert shown.count("ook at the tire:") == 1
    assert "Due now: look at RF, then choose what to do" in shown
    page = tmp_path / "day.html"
    assert run_command("report", crew.path, "-o", page).status == 0
    assert "Come in, look at the tire: RF inner read 302" in page.read_text("utf-8")
    why = run_command("why", crew.path, "--plain").out
    assert "come in, look at the tire: RF inner" in " ".join(why.split())


def test_just_below_300_it_is_not(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    status = crew.record(hot(inner=299.9))
    assert status["come_in"] == []
    assert "ook at the tire:" not in run_command("status", crew.path, "--plain").out


def test_a_run_that_judges_nothing_shows_it_too(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    status = crew.record(hot(), "--flag", "lockup")
    assert status["come_in"][0]["corner"] == "RF"
    assert "Come in, look at the tire" in run_command("status", crew.path, "--plain").out


def test_of_several_the_hottest_comes_first() -> None:
    both = hot() | {"RR": (310.0, 300.0, 290.0)}
    assert [(each.corner, each.reads) for each in day_of(both).too_hot] == [
        ("RR", 310.0),
        ("RF", 302.0),
    ]


def test_once_the_change_is_made_it_is_not_due_again(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start()
    crew.record(hot())
    crew.changed()
    assert "Due now: a run of 10 laps" in run_command("status", crew.path, "--plain").out


def test_the_guide_says_it_first(tmp_path: Path) -> None:
    crew = Crew(tmp_path / "day.toml")
    crew.start("--units", "metric")
    in_celsius = {c: [(f - 32) / 1.8 for f in three] for c, three in hot().items()}
    crew.record(in_celsius)
    desk = Scripted(tmp_path, "guide", "day.toml")
    shown = desk.sees("Do now")
    assert shown.index("Come in, look at the tire: RF inner read 150") < shown.index("middle")
    desk.leaves("q")


def test_the_number_is_the_rules(tmp_path: Path) -> None:
    text = rules_file.find("paved-oval").read_text("utf-8")
    (tmp_path / "ours.toml").write_text(
        text.replace('id = "paved-oval"', 'id = "ours"').replace(
            "too_hot = 300.0", "too_hot = 280.0"
        ),
        "utf-8",
    )
    crew = Crew(tmp_path / "day.toml")
    crew.start("--rules", tmp_path / "ours.toml")
    assert crew.record(hot(inner=281.0))["come_in"][0]["limit"] == 280.0
    assert "from memory" in next(line for line in text.splitlines() if line.startswith("too_hot"))


# --- what the rules file and the car file may say -------------------------------------------


@pytest.mark.parametrize(
    ("key", "value", "mistake"),
    [
        ("cold_pressure", {"inside": [20.0, 10.0], "source": "x"}, "cold_pressure.inside: the low"),
        ("cold_pressure", {"outside": [15.0, 40.0]}, "cold_pressure.source: say where"),
        ("cold_pressure", {"outside": [15.0, 400.0], "source": "x"}, "cold_pressure.outside[2]"),
        ("cold_pressure", {"outside": [15.0], "source": "x"}, "cold_pressure.outside: must hold 2"),
        ("cold_pressure", {"front": [15.0, 40.0]}, "cold_pressure.front: unknown key"),
        ("too_hot", 200.0, "too_hot: must be between the end of the window, 240"),
        ("too_hot", 1e9, "too_hot: must be between"),
        ("fixed", {}, "fixed: unknown key"),
    ],
)
def test_mistakes_in_the_new_keys_are_named(key: str, value, mistake: str) -> None:
    data = rules_file.read(rules_file.find("paved-oval")) | {key: value}
    found, rules = checks.examine(data)
    assert rules is None
    assert [each for each in found if each.startswith(mistake)], found


@pytest.mark.parametrize(
    ("use", "mistake"),
    [("gone", "at_limit[1].use: there is no [adjustment.gone]"), ("camber", "is at the same cor")],
)
def test_what_else_to_look_at_must_be_there(use: str, mistake: str) -> None:
    data = rules_file.read(rules_file.find("paved-oval"))
    each = next(p for p in data["pattern"] if p["id"] == "balance.tight")
    each["at_limit"] = [{"use": use}]
    assert any(mistake in said for said in checks.examine(data)[0])


# --- what cannot be turned ------------------------------------------------------------------

SOLID = Car(suspension=Suspension("solid"))
FIXED = Car(limits={"camber": KnobLimits(LR="fixed", RF=Limit(min=-4.0, max=-2.5))})
LR_INNER_HOT = tires(split={"LR": 20.0})


@pytest.mark.parametrize("split", [20.0, -20.0])
@pytest.mark.parametrize("corner", ["LR", "RR"])
def test_a_solid_axle_is_offered_no_camber_and_holds_nothing(corner: str, split: float) -> None:
    readings = tires(split={corner: split})
    assert day_of(readings).stage == "camber"
    day = day_of(readings, car=SOLID)
    assert day.stage == "confirm"  # there is nothing to wait for
    (pattern,) = [p for p in day.good[-1].patterns if p.corner == corner]
    assert pattern.stage == "camber"
    assert not pattern.holds
    assert not [p for p in day.good[-1].patterns if p.masked_by]


def test_the_words_say_why_a_solid_axle_is_offered_no_camber() -> None:
    day = day_of(tires(split={"LR": 20.0, "RF": 20.0}), car=SOLID)
    status = status_object.build(day, "day.toml")
    told = {p["corner"]: p["says"] for p in status["patterns"]}
    assert "a solid axle has no camber to turn" in told["LR"]
    assert "solid" not in told["RF"]
    assert any("LR camber is not offered: the rear axle is solid" in h for h in status["held_back"])
    turned = {(c["knob"], c["corner"]) for each in status["candidates"] for c in each["changes"]}
    assert ("camber", "RF") in turned
    assert not {("camber", "LR"), ("camber", "RR")} & turned


def test_rear_camber_of_a_solid_axle_does_not_ride_along() -> None:
    leaning = tires(split={"RF": 20.0, "LF": 20.0, "LR": 9.0, "RR": 9.0})
    free = [c.corner for c in table_of(leaning, "camber").candidates[0].changes if c.trim]
    assert set(free) == {"LR", "RR"}
    for each in table_of(leaning, "camber", car=SOLID).candidates:
        assert not {c.corner for c in each.changes} & {"LR", "RR"}


def test_an_independent_rear_is_offered_its_camber() -> None:
    car = Car(suspension=Suspension("independent"))
    assert day_of(LR_INNER_HOT, car=car).table().candidates


def test_the_chance_of_the_stage_leaves_out_what_nothing_turns() -> None:
    readings = tires(split={"LR": 20.0, "RF": 20.0})
    free, solid = (
        table_of(readings, "camber", car=car).candidates[-1].chance for car in (Car(), SOLID)
    )
    assert free is not None
    assert solid is not None
    assert free < 0.05 < solid


def test_what_the_car_file_calls_fixed_is_not_offered_and_its_other_limits_hold() -> None:
    readings = tires(split={"LR": 20.0, "RF": 20.0})
    car = attrs.evolve(FIXED, settings={"camber": {"RF": -3.0}})
    table = table_of(readings, "camber", car=car)
    for each in table.candidates:
        assert [(c.setting, c.after) for c in each.own_changes] == [(("camber", "RF"), -2.5)]
        assert ("camber", "LR") not in {c.setting for c in each.changes}
    assert [(h.setting, h.why) for h in table.held_back] == [(("camber", "LR"), "fixed")]
    assert "cannot be turned" in offers.held_back(table.held_back[0])


def test_the_crew_may_not_turn_what_the_car_file_calls_fixed(tmp_path: Path) -> None:
    (tmp_path / "car.toml").write_text('[limits.camber]\nLR = "fixed"\n', "utf-8")
    crew = Crew(tmp_path / "day.toml")
    crew.start("--car", tmp_path / "car.toml")
    crew.record(RF_INNER_HOT)
    refused = crew.tries("choose", "--own", "camber:LR:+0.5", "--reason", "x")
    assert (refused.status, refused.error["code"]) == (2, "beyond-limit")
    assert "limits.camber.LR" in refused.error["where"]
    crew.choose("--own", "camber:RR:+0.5", "--reason", "x")


def test_the_crew_may_turn_a_solid_axle_and_is_told(tmp_path: Path) -> None:
    (tmp_path / "car.toml").write_text('[suspension]\nrear = "solid"\n', "utf-8")
    crew = Crew(tmp_path / "day.toml")
    crew.start("--car", tmp_path / "car.toml")
    crew.record(RF_INNER_HOT)
    status = crew.choose("--own", "camber:LR:+0.5", "--reason", "cambered snouts")
    assert any("LR camber: the rear axle is solid" in each for each in status["cautions"])


@pytest.mark.parametrize(
    ("text", "mistake"),
    [
        ('[limits.camber]\nLR = "loose"', "limits.camber.LR: must be one of fixed, not 'loose'"),
        ("[limits.camber]\nLR = 3", "limits.camber.LR: must be a table, not 3"),
        ("[limits.camber]\nfront = {min = 1}", "limits.camber.front: no such place"),
        ("[limits.camber]\nmin = 2\nRF = {max = 1}", "limits.camber.RF: min is above max"),
        ("[limits.camber]\nRF = {low = 1}", "limits.camber.RF.low: unknown key"),
        ('[suspension]\nrear = "live"', "suspension.rear: must be one of solid, independent"),
    ],
)
def test_mistakes_in_limits_of_single_places_are_named(tmp_path: Path, text, mistake) -> None:
    (tmp_path / "car.toml").write_text(text, "utf-8")
    refused = run_command("start", tmp_path / "p.toml", "--car", tmp_path / "car.toml", "--json")
    assert refused.status == 2
    assert mistake in refused.error["message"]


def test_limits_of_single_places_survive_the_plan_and_the_next_car_file(tmp_path: Path) -> None:
    text = '[suspension]\nrear = "solid"\n[limits.camber]\nstep = 0.5\nLF = "fixed"\n'
    text += "RF = { min = -4.0, max = -2.0 }\n"
    (tmp_path / "car.toml").write_text(text, "utf-8")
    crew = Crew(tmp_path / "day.toml")
    crew.start("--car", tmp_path / "car.toml")
    out = tmp_path / "next.toml"
    assert run_command("export", crew.path, "--as", "car", "-o", out).status == 0
    one, other = (car_file.load(tmp_path / name) for name in ("car.toml", "next.toml"))
    assert one.limits == other.limits
    assert one.suspension == other.suspension
    exported = run_command("export", crew.path, "--as", "json", "-o", tmp_path / "day.json")
    assert exported.status == 0
