"""Rules files: ours are sound, the crew's own work, and every mistake is named by its key."""

import tomllib
from pathlib import Path

import attrs
import pytest
import tomli_w
from garage import RF_INNER_HOT, Crew, run_command, stand, tires

from planner.car.car_file import in_mirror
from planner.files import bundled
from planner.rulebook import checks, rules_file
from planner.rulebook.mirrored import for_turns
from planner.trade.corners import CORNERS, mirrored
from planner.trade.estimate import Estimate
from planner.trade.knobs import KNOBS

OVAL = (bundled.folder("rules") / "paved-oval.toml").read_text("utf-8")


def tables() -> dict:
    """Return the oval's rules as tables, to be spoilt."""
    return tomllib.loads(OVAL)


def mistakes(data: dict) -> list[str]:
    return checks.examine(data)[0]


def pattern(data: dict, pattern_id: str) -> dict:
    return next(p for p in data["pattern"] if p["id"] == pattern_id)


# --- the bundled rules ----------------------------------------------------------------------


@pytest.mark.parametrize("name", rules_file.BUNDLED)
def test_bundled_rules_have_no_mistakes(name: str) -> None:
    answer = run_command("rules", "check", rules_file.find(name), "--json")
    assert answer.status == 0
    assert answer.data["id"] == name


def test_the_bands_of_an_oval() -> None:
    book = rules_file.load(rules_file.find("paved-oval"))
    assert book.edges("split.RF") == (-10.0, 10.0)
    assert book.edges("crown.LF") == (-3.0, 3.0)
    assert book.edges("cross_vs_front") == book.edges("cross_vs_right") == (-10.0, -5.0)
    assert book.edges("balance") == (0.0, 10.0)
    assert book.edges("versus_others.LR") == (-25.0, 25.0)
    assert book.edges("front_split") == (-6.0, 6.0)
    assert book.edges("average.LF") == (None, None)
    assert book.window == (190.0, 240.0)
    # 8 to 10 laps on tracks of 3/4 mile or less: NASA community forum, "Importance of Taking Tire
    # Temps, Part 1".
    assert 8 <= book.laps <= 10


def test_a_rule_is_a_band_at_every_corner_or_one_of_the_whole_car() -> None:
    book = rules_file.load(rules_file.find("paved-oval"))
    keys = [band.key for band in book.bands]
    assert len(keys) == len(set(keys))
    assert [key for key in keys if key.startswith("camber.inner-hot")] == [
        f"camber.inner-hot:{corner}" for corner in CORNERS
    ]
    assert [key for key in keys if key.startswith("cross.too-much")] == ["cross.too-much"]
    inner, cross = book.band("camber.inner-hot:RF"), book.band("cross.too-much")
    assert inner is not None
    assert cross is not None
    assert inner.figures == ("split.RF",)
    assert cross.figures == ("cross_vs_front", "cross_vs_right")
    assert book.band("camber.paint:RF") is None
    assert inner in book.stage_bands
    held = {band.rule.id for band in book.stage_bands}
    assert held == {r.id for r in book.pattern if r.stage is not None and r.edge is not None}


def test_how_far_a_figure_is_beyond_its_band_counts_from_the_edge() -> None:
    book = rules_file.load(rules_file.find("paved-oval"))
    hot, cold = book.band("camber.inner-hot:RF"), book.band("camber.outer-hot:RF")
    assert hot is not None
    assert cold is not None
    assert (hot.rule.sign, hot.beyond(14.0), hot.beyond(7.0)) == (1.0, 4.0, -3.0)
    assert (cold.rule.sign, cold.beyond(-14.0), cold.beyond(7.0)) == (-1.0, 4.0, -17.0)


def test_a_pattern_of_the_hottest_tire_is_looked_for_there_alone() -> None:
    book = rules_file.load(rules_file.find("paved-oval"))
    hottest = [band for band in book.bands if band.rule.each == "hottest"]
    averages = {"LF": 180.0, "RF": 215.0, "LR": 190.0, "RR": 200.0}
    looked = {band.corner for band in hottest if band.is_looked_at(averages)}
    assert looked == {"RF"}
    assert {band.corner for band in hottest} == set(CORNERS)


def test_a_band_says_what_its_offers_turn_there() -> None:
    book = rules_file.load(rules_file.find("paved-oval"))
    inner, cross = book.band("camber.inner-hot:LR"), book.band("cross.too-much")
    assert inner is not None
    assert cross is not None
    assert ("camber", "LR") in book.settings(inner)
    assert ("cross", "car") in book.settings(cross)
    assert len(book.settings(cross, next_cause=True)) > len(book.settings(cross))


def test_a_long_track_takes_about_three_laps() -> None:
    # About 3 laps on longer tracks: NASA community forum, "Importance of Taking Tire Temps".
    assert rules_file.load(rules_file.find("road-course")).laps == 3


def test_rules_in_words_match_the_rules_in_numbers() -> None:
    book = rules_file.load(rules_file.find("paved-oval"))
    assert book.adjustment["camber"].effect["split.same"].mean == -12.0
    assert book.adjustment["camber"].step == 0.25
    # 0.25 psi a degree of crown is 4 degrees a psi.
    assert book.adjustment["pressure"].effect["crown.same"].mean == pytest.approx(1 / 0.25)
    assert book.rule("cross.too-much").aim == -7.5
    assert book.rule("cross.too-much").after_moves == 3
    for pattern_id in ("balance.tight", "balance.loose"):
        assert 7.5 <= book.rule(pattern_id).aim < 10  # toward the upper edge, not on it


def test_turning_rules_keeps_their_sense() -> None:
    book = rules_file.load(rules_file.find("paved-oval"))
    turned = for_turns(book, "right")
    assert turned.adjustment["spring-rf"].corner == "LF"
    assert turned.adjustment["camber"].effect == book.adjustment["camber"].effect
    for ours, theirs in zip(book.typical, turned.typical, strict=True):
        assert (ours.car.turns, theirs.car.turns) == ("left", "right")
        assert theirs.scales == {mirrored(corner): lb for corner, lb in ours.scales.items()}
        assert theirs.settings["spring"]["LF"] == ours.settings["spring"]["RF"]
        assert theirs.settings["bar"] == ours.settings["bar"]
        assert in_mirror(theirs).scales == ours.scales
    assert turned.rule("cross.too-much").offers[0].direction == "+"
    assert for_turns(book, "left") is book


def test_effects_that_a_rules_file_states_are_turned_with_it() -> None:
    book = rules_file.load(rules_file.find("paved-oval"))
    stated = {"average.RF": Estimate(2.0, 1.5), "average.RR": Estimate(-2.5, 1.5)}
    entries = {
        name: attrs.evolve(book.adjustment[name], effect=stated)
        for name in ("cross", "stagger", "ballast-left")
    }
    turned = for_turns(attrs.evolve(book, adjustment={**book.adjustment, **entries}), "right")
    assert turned.adjustment["cross"].effect["average.LF"].mean == -2.0
    assert turned.adjustment["stagger"].effect["average.LF"].mean == 2.0
    assert turned.adjustment["ballast-left"].effect["average.LR"].mean == 2.5


# --- every mistake by its key ---------------------------------------------------------------


def spoilt(change) -> list[str]:
    data = tables()
    change(data)
    return mistakes(data)


@pytest.mark.parametrize(
    ("change", "key"),
    [
        (lambda d: d.update(laps="ten"), "laps"),
        (lambda d: d.update(laps=0), "laps"),
        (lambda d: d.update(window=[240.0, 190.0]), "window"),
        (lambda d: d.update(window=[240.0]), "window"),
        (lambda d: d.update(turns=[]), "turns"),
        (lambda d: d.update(turns=["up"]), "turns[1]"),
        (lambda d: d.update(format=2), "format"),
        (lambda d: d.update(colour="red"), "colour"),
        (lambda d: d.update(fingerprint="x"), "fingerprint"),
        (lambda d: d.pop("title"), "title"),
        (lambda d: d.update(pattern=[]), "pattern"),
        (lambda d: d.update(pattern={}), "pattern"),
        (lambda d: d["noise"].update(reading=0.0), "noise"),
        (lambda d: d["noise"].update(reading="much"), "noise.reading"),
        (lambda d: d["wear"].update(least=0.0), "wear"),
        (lambda d: d["wear"].update(uneven=0.5), "wear"),
        (lambda d: d["wear"].update(per_cross={"mean": 4.0}), "wear.per_cross.sd"),
        (lambda d: d["adjustment"]["camber"].update(step=0.0), "adjustment.camber.step"),
        (lambda d: d["adjustment"]["camber"].update(most=0.1), "adjustment.camber.most"),
        (lambda d: d["adjustment"]["camber"].update(minutes=-1.0), "adjustment.camber.minutes"),
        (lambda d: d["adjustment"]["camber"].update(knob="wing"), "adjustment.camber.knob"),
        (lambda d: d["adjustment"]["camber"].update(corner="car"), "adjustment.camber.corner"),
        (lambda d: d["adjustment"]["toe"].update(corner="same"), "adjustment.toe.corner"),
        (lambda d: d["adjustment"]["camber"].update(effect={}), "adjustment.camber.effect"),
        (lambda d: d["adjustment"]["camber"].update(caution="run"), "adjustment.camber.caution"),
        (lambda d: d["adjustment"]["camber"].pop("source"), "adjustment.camber.source"),
        (
            lambda d: d["adjustment"]["toe"]["effect"].update({"balance": {"mean": 1, "sd": 1}}),
            "adjustment.toe.effect.balance",
        ),
        (
            lambda d: d["adjustment"]["toe"]["effect"]["split.LF"].update(sd=-1.0),
            "adjustment.toe.effect.split.LF.sd",
        ),
        (lambda d: d.pop("typical"), "adjustment.cross.effect"),
        (lambda d: d["typical"][1].pop("scales"), "typical[2].scales"),
        (lambda d: d["typical"][0]["scales"].pop("LF"), "typical[1].scales"),
        (lambda d: d["typical"][0]["settings"].pop("spring"), "typical[1].settings.spring"),
        (
            lambda d: d["typical"][2]["dimensions"].pop("wheelbase"),
            "typical[3].dimensions.wheelbase",
        ),
        (
            lambda d: d["typical"][2]["dimensions"].update(wheelbase=-1.0),
            "typical[3].dimensions.wheelbase",
        ),
        (lambda d: d["typical"][2].update(wheels=4), "typical[3].wheels"),
        (lambda d: d["typical"][0]["track"].update(corner_speed=190.0), "typical[1].track"),
        (lambda d: d.update(typical=d["typical"] * 10), "typical"),
        (lambda d: d["pattern"][1].update(id="camber.inner-hot"), "pattern[2].id"),
        (lambda d: d["pattern"][0].update(figures=["tilt"]), "pattern[1].figures[1]"),
        (lambda d: d["pattern"][0].update(figures=["balance"]), "pattern[1].figures[1]"),
        (lambda d: d["pattern"][0].update(figures=[]), "pattern[1].figures"),
        (lambda d: d["pattern"][0].update(each="wheel"), "pattern[1].each"),
        (lambda d: d["pattern"][0].update(stage="paint"), "pattern[1].stage"),
        (lambda d: d["pattern"][0].update(below=-1.0), "pattern[1].above"),
        (lambda d: d["pattern"][0].pop("above"), "pattern[1].above"),
        (lambda d: d["pattern"][0].update(above="high"), "pattern[1].above"),
        (lambda d: d["pattern"][0].update(offers=[]), "pattern[1].offers"),
        (lambda d: d["pattern"][0].pop("stage"), "pattern[1].offers"),
        (lambda d: d["pattern"][0].update(alike=3.0), "pattern[1].alike"),
        (lambda d: d["pattern"][0].update(after_moves=0), "pattern[1].after_moves"),
        (lambda d: d["pattern"][0].update(says="$tilt is odd"), "pattern[1].says"),
        (lambda d: d["pattern"][0].update(says="5 $ a tire"), "pattern[1].says"),
        (lambda d: d["pattern"][0]["offers"][0].update(use="hammer"), "pattern[1].offers[1].use"),
        (
            lambda d: d["pattern"][0]["offers"][0].update(direction="-"),
            "pattern[1].offers[1].direction",
        ),
        (
            lambda d: d["pattern"][0]["offers"][0].update(direction="up"),
            "pattern[1].offers[1].direction",
        ),
        (lambda d: d["pattern"][0]["offers"][0].update(use="cross"), "pattern[1].offers[1].use"),
        (
            lambda d: pattern(d, "cross.too-much")["offers"][0].update(use="spring-same"),
            "pattern[7].offers[1].use",
        ),
        (
            lambda d: pattern(d, "cross.disagree").update(disagree=[-5.0, -10.0]),
            "pattern[9].disagree",
        ),
    ],
)
def test_a_mistake_is_named_by_its_key(change, key: str) -> None:
    found = spoilt(change)
    assert any(line.startswith(f"{key}: ") for line in found), found


def test_every_mistake_of_a_kind_is_named_in_one_go() -> None:
    def typed(data: dict) -> None:
        data["laps"] = "ten"
        data["adjustment"]["camber"]["step"] = "quarter"
        data["pattern"][3]["below"] = True
        data["pattern"][5]["stage"] = "paint"

    lines = spoilt(typed)
    keys = {line.partition(":")[0] for line in lines}
    assert keys == {"laps", "adjustment.camber.step", "pattern[4].below", "pattern[6].stage"}

    def meant(data: dict) -> None:
        data["laps"] = 0
        data["adjustment"]["camber"]["step"] = -1.0
        data["adjustment"]["toe"]["knob"] = "wing"
        data["pattern"][0]["figures"] = ["tilt"]
        data["pattern"][10]["offers"][0]["use"] = "hammer"

    keys = {line.partition(":")[0] for line in spoilt(meant)}
    assert keys >= {
        "laps",
        "adjustment.camber.step",
        "adjustment.toe.knob",
        "pattern[1].figures[1]",
        "pattern[11].offers[1].use",
    }


def test_mistakes_of_both_kinds_are_named_together() -> None:
    def both(data: dict) -> None:
        data["laps"] = "ten"
        data["adjustment"]["camber"]["step"] = -1.0

    keys = {line.partition(":")[0] for line in spoilt(both)}
    assert keys == {"laps", "adjustment.camber.step"}


def test_the_check_command_names_them_and_leaves_with_3(tmp_path: Path) -> None:
    data = tables() | {"laps": "ten", "window": "hot"}
    file = tmp_path / "ours.toml"
    file.write_text(tomli_w.dumps(data), "utf-8")
    answer = run_command("rules", "check", file, "--json")
    assert answer.status == 3
    error = answer.error
    assert error["code"] == "bad-rules"
    assert "2 mistakes" in error["message"]
    assert "\nlaps: " in error["message"]
    assert "\nwindow: " in error["message"]
    assert error["where"] == str(file)
    in_words = run_command("rules", "check", file)
    assert (in_words.status, in_words.out) == (3, "")
    assert "laps: " in in_words.err


@pytest.mark.parametrize(
    ("content", "code"),
    [(b"laps = ", "not-toml"), (b"\xff", "encoding"), (b"", "bad-rules"), (None, "not-found")],
)
def test_what_is_no_rules_file_is_refused(tmp_path: Path, content: bytes | None, code) -> None:
    file = tmp_path / "ours.toml"
    if content is not None:
        file.write_bytes(content)
    answer = run_command("rules", "check", file, "--json")
    assert (answer.status, answer.error["code"]) == (3, code)


# --- the crew's own rules -------------------------------------------------------------------


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """Rules of the crew's own: narrower camber, six laps."""
    file = tmp_path / "ours.toml"
    text = OVAL.replace('id = "paved-oval"', 'id = "ours"').replace("laps = 10", "laps = 6", 1)
    file.write_text(text.replace("above = 10.0\naim = 0.0", "above = 4.0\naim = 0.0", 1), "utf-8")
    return file


def test_a_day_by_the_crews_own_rules(crew: Crew, own: Path) -> None:
    status = crew.start("--rules", own)
    assert (status["rules"], status["laps"]) == ("ours", 6)
    status = crew.record(tires(split={"RF": 6.0}))
    assert stand(status) == ("camber", "choice")
    assert status["patterns"][0]["limit"] == 4.0
    assert stand(crew.changed()) == ("camber", "run")
    assert stand(crew.record(tires())) == ("confirm", "run")


def test_rules_that_changed_since_are_mentioned_and_used(crew: Crew, own: Path) -> None:
    crew.start("--rules", own)
    assert "changed" not in crew.tries("status").err
    own.write_text(own.read_text("utf-8").replace("above = 4.0", "above = 20.0"), "utf-8")
    assert "rules have changed since this plan was begun" in crew.tries("status").err
    status = crew.record(tires(split={"RF": 6.0}))
    assert stand(status) == ("confirm", "run")


def test_comments_and_line_ends_do_not_change_rules(own: Path) -> None:
    before = rules_file.load(own).fingerprint
    own.write_bytes(b"# ours\r\n" + own.read_bytes().replace(b"\n", b"\r\n"))
    assert rules_file.load(own).fingerprint == before
    own.write_bytes(own.read_bytes().replace(b"above = 4.0", b"above = 5.0"))
    assert rules_file.load(own).fingerprint != before


def test_steps_taken_stand_when_the_rules_change(crew: Crew, own: Path) -> None:
    crew.start("--rules", own)
    crew.record(tires(split={"RF": 6.0}))
    crew.choose(1)
    own.write_text(own.read_text("utf-8").replace("above = 4.0", "above = 8.0"), "utf-8")
    assert stand(crew.status()) == ("camber", "change")


def test_a_pattern_the_rules_no_longer_have_breaks_nothing(crew: Crew, own: Path) -> None:
    crew.start("--rules", own)
    crew.record(tires({"LF": 210.0, "RF": 230.0, "LR": 195.0, "RR": 210.0}, {"RF": 20.0}))
    crew.choose("--move-on", "--reason", "late")
    text = own.read_text("utf-8").replace('"balance.tight"', '"balance.push"')
    own.write_text(text, "utf-8")
    assert stand(crew.status()) == ("balance", "choice")
    assert stand(crew.choose("--move-on", "--reason", "odd")) == ("confirm", "run")


def test_a_plan_whose_rules_are_gone_says_which(crew: Crew, own: Path) -> None:
    crew.start("--rules", own)
    own.unlink()
    answer = crew.tries("status")
    assert (answer.status, answer.error["code"]) == (3, "no-rules")
    assert str(own) in answer.error["message"]


def test_a_plan_whose_rules_are_spoilt_is_refused_and_not_changed(crew: Crew, own: Path) -> None:
    crew.start("--rules", own)
    crew.record(RF_INNER_HOT)
    before = crew.text()
    own.write_text("laps = 'x'", "utf-8")
    answer = crew.tries("choose", "1")
    assert (answer.status, answer.error["code"]) == (3, "bad-rules")
    assert crew.text() == before


@pytest.mark.parametrize("name", ["gravel", "", "no/such.toml"])
def test_rules_that_are_not_there_are_refused(crew: Crew, name: str) -> None:
    answer = crew.tries("start", "--rules", name)
    assert (answer.status, answer.error["code"]) == (2, "no-rules")
    assert "paved-oval" in answer.error["try"]
    assert not crew.path.exists()


def test_rules_with_mistakes_begin_no_plan(crew: Crew, own: Path) -> None:
    own.write_text("laps = 3", "utf-8")
    assert crew.tries("start", "--rules", own).status == 3
    assert not crew.path.exists()


def test_every_knob_is_moved_by_some_rule_of_an_oval() -> None:
    moved = {entry["knob"] for entry in tables()["adjustment"].values()}
    assert moved == set(KNOBS)
