"""The table of moves: what it holds, and every command in every state it knows."""

from itertools import product
from pathlib import Path

import pytest
from garage import FAULTS, STAGES, Answer, Crew, percent_left, stand, tire_options, tires

from planner.plan import machine
from planner.plan.machine import Evidence, Place, go
from planner.rulebook.rules import TUNING_ORDER
from planner.words import diagram

TRIGGERS = ("good_run", "bad_run", "take", "take_back", "move_on", "made", "tell", "later")
EVIDENCE = [
    Evidence(fault, *rest) for fault, *rest in product((None, *TUNING_ORDER), *[(True, False)] * 6)
]
STATES = {state for _, source, dest, _ in machine.expanded() for state in (source, dest)}


# --- the table ------------------------------------------------------------------------------


def test_the_tuning_order_is_that_of_the_trade() -> None:
    # Camber and pressure before the handling: Circle Track, "Race Tire Technology", June 2004.
    # The rest of the order: common practice, no source.
    assert TUNING_ORDER == STAGES == ("camber", "pressure", "cross", "balance", "corners")


def test_no_two_rows_of_the_table_are_ever_both_true() -> None:
    for state, trigger, seen in product(STATES, TRIGGERS, EVIDENCE):
        ways = [
            dest
            for name, source, dest, holds in machine.expanded()
            if (name, source) == (trigger, state) and holds(seen)
        ]
        assert len(ways) <= 1, (state, trigger, seen, ways)
        led = go(Place(state), trigger, seen)
        assert (led and led.state) == (ways[0] if ways else None)


@pytest.mark.parametrize("seen", EVIDENCE, ids=str)
def test_a_run_can_be_recorded_whenever_the_car_could_have_run(seen: Evidence) -> None:
    for state, trigger in product(STATES, ("good_run", "bad_run")):
        can_run = state.endswith((":run", ":choice", ":nothing"))  # not before a change is made
        assert (go(Place(state), trigger, seen) is not None) == can_run


def test_every_state_can_be_reached_from_the_start_and_leads_to_the_end() -> None:
    def reached(start: str) -> set[str]:
        found, ahead = {start}, [start]
        while ahead:
            here = ahead.pop()
            for _, source, dest, _ in machine.expanded():
                if source == here and dest not in found:
                    found.add(dest)
                    ahead.append(dest)
        return found

    assert reached(machine.START) == STATES
    for state in STATES:
        assert "complete:nothing" in reached(state)
    # A run more may be recorded of a day that is complete, and it may show a fault.
    assert reached("complete:nothing") == STATES


@pytest.mark.parametrize("stage", STAGES)
@pytest.mark.parametrize("fault", STAGES)
def test_a_run_leads_to_the_stage_that_shows_a_fault_first(stage: str, fault: str) -> None:
    assert go(Place(f"{stage}:run"), "good_run", Evidence(fault)) == Place(f"{fault}:choice")


@pytest.mark.parametrize("due", ["run", "choice"])
@pytest.mark.parametrize("fault", STAGES)
def test_a_run_at_a_choice_leads_where_one_that_is_due_leads(due: str, fault: str) -> None:
    for seen, leads in (
        (Evidence(fault), f"{fault}:choice"),
        (Evidence(fault, enough=False), f"{fault}:choice"),
        (Evidence(enough=False), "confirm:run"),
        (Evidence(), "complete:nothing"),
    ):
        assert go(Place(f"balance:{due}"), "good_run", seen) == Place(leads)


@pytest.mark.parametrize("state", ["camber:run", "corners:choice", "confirm:run"])
def test_a_day_is_complete_as_soon_as_little_enough_is_expected_out(state: str) -> None:
    # A sure car needs no run only to confirm it; see numbers.enough.
    assert go(Place(state), "good_run", Evidence()) == Place("complete:nothing")
    for seen in (Evidence(enough=False), Evidence(as_set=False)):
        assert go(Place(state), "good_run", seen) == Place("confirm:run")


def test_uneven_wear_is_offered_before_a_day_is_complete() -> None:
    offered = Evidence(offer=True)
    assert go(Place("balance:run"), "good_run", offered) == Place("confirm:run")
    assert go(Place("confirm:run"), "good_run", offered) == Place("complete:nothing")


def test_a_run_after_the_day_is_complete_keeps_it_so_or_begins_a_new_round() -> None:
    done = Place("complete:nothing", 2)
    assert go(done, "good_run", Evidence()) == done
    assert go(done, "good_run", Evidence(enough=False)) == done
    assert go(done, "bad_run", Evidence("camber", void=True)) == done
    assert go(done, "good_run", Evidence("cross")) == Place("cross:choice", 3)


def test_a_run_that_judges_nothing_leaves_a_choice_standing() -> None:
    choice = Place("cross:choice")
    assert go(choice, "bad_run", Evidence("cross")) == choice
    assert go(choice, "bad_run", Evidence("cross", void=True)) == Place("cross:run")


@pytest.mark.parametrize("fault", STAGES)
def test_a_fault_at_confirm_begins_a_new_round(fault: str) -> None:
    assert go(Place("confirm:run"), "good_run", Evidence(fault)) == Place(f"{fault}:choice", 2)


def test_confirm_wants_certainty_and_the_car_run_as_it_was_set() -> None:
    confirm = Place("confirm:run")
    assert go(confirm, "good_run", Evidence(enough=False)) == confirm
    assert go(confirm, "good_run", Evidence(as_set=False)) == confirm
    assert go(confirm, "good_run", Evidence()) == Place("complete:nothing")


def test_nothing_is_taken_at_confirm_unless_something_is_offered() -> None:
    confirm = Place("confirm:run")
    assert go(confirm, "take", Evidence(offer=False)) is None
    assert go(confirm, "take", Evidence(offer=True)) == Place("cross:change")


@pytest.mark.parametrize("stage", STAGES)
def test_a_choice_taken_back_leaves_the_day_where_its_run_leads(stage: str) -> None:
    for seen, led in (
        (Evidence(stage), f"{stage}:choice"),
        (Evidence("camber"), "camber:choice"),
        (Evidence(), "confirm:run"),
        (Evidence(stage, void=True), f"{stage}:run"),
    ):
        assert go(Place(f"{stage}:change"), "take_back", seen) == Place(led)


def test_the_diagram_draws_every_row_of_the_table() -> None:
    drawn = diagram.drawn().splitlines()
    assert drawn[0] == "stateDiagram-v2"
    for move in machine.MOVES:
        when = "" if move.when == "always" else f" ({diagram.WHEN[move.when]})"
        assert any(line.endswith(f" : {move.trigger}{when}") for line in drawn)
    assert sum("-->" in line for line in drawn) == len(machine.MOVES) + 2


# --- every command in every state -----------------------------------------------------------

COMMANDS: dict[str, list[str]] = {
    "record": ["record", *tire_options(tires(split={"LF": 0.5}))],
    "record a bad run": ["record", *tire_options(tires()), "--flag", "lockup"],
    "choose 1": ["choose", "1"],
    "own": ["choose", "--own", "cross:car:0.25", "--reason", "a hunch"],
    "move on": ["choose", "--move-on", "--reason", "no time"],
    "made": ["made"],
    "take back": ["choose", "--take-back"],
}
LEGAL = {
    "run": {"record", "record a bad run"},
    "choice": {"choose 1", "own", "move on", "record", "record a bad run"},
    "change": {"made", "take back"},
    "nothing": {"record", "record a bad run"},
}
PLACES = [
    "fresh",
    *(f"{stage}:{due}" for stage, due in product(STAGES, ("choice", "change", "run"))),
    "confirm:run",
    "confirm:run with an offer",
    "complete:nothing",
]


STOOD: dict[str, dict] = {}  # the status of each of the plans below


@pytest.fixture(scope="module")
def plans(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """A plan in each state, as the bytes of its file."""
    kept: dict[str, bytes] = {}

    def keep(name: str, crew: Crew) -> None:
        kept[name] = crew.path.read_bytes()
        STOOD[name] = crew.status()

    for stage in STAGES:
        crew = Crew(tmp_path_factory.mktemp(stage) / "day.toml")
        crew.start()
        keep("fresh", crew)
        crew.record(FAULTS[stage])
        keep(f"{stage}:choice", crew)
        crew.choose(1)
        keep(f"{stage}:change", crew)
        crew.made()
        keep(f"{stage}:run", crew)
    crew.record(tires())
    keep("confirm:run", crew)
    crew.record(tires())
    keep("complete:nothing", crew)
    crew = Crew(tmp_path_factory.mktemp("wear") / "day.toml")
    crew.start()
    crew.record(tires(), *percent_left({"LF": 6, "RF": 14, "LR": 6, "RR": 6}))
    keep("confirm:run with an offer", crew)
    return kept


def test_the_plans_stand_where_their_names_say(plans) -> None:
    assert set(plans) == set(PLACES)
    for place in plans:
        wanted = "camber:run" if place == "fresh" else place.partition(" ")[0]
        assert ":".join(stand(STOOD[place])) == wanted


def near(one, other) -> bool:
    """Say whether two status objects are the same but for the last of their four decimals."""
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(near(one[key], other[key]) for key in one)
    if isinstance(one, list):
        return len(one) == len(other) and all(map(near, one, other))
    return one == (pytest.approx(other, abs=1.01e-4) if isinstance(one, float) else other)


def legal(place: str, command: str) -> bool:
    due = "run" if place == "fresh" else place.partition(" ")[0].partition(":")[2]
    if place.startswith("confirm"):
        return (
            command in LEGAL["run"]
            or command == "move on"
            or (command == "choose 1" and place.endswith("offer"))
        )
    return command in LEGAL[due]


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("command", COMMANDS)
def test_a_command_does_or_is_refused_and_changes_nothing(
    plans: dict[str, bytes], crew: Crew, place: str, command: str
) -> None:
    crew.path.write_bytes(plans[place])
    before = STOOD[place]
    answer: Answer = crew.tries(*COMMANDS[command])
    if legal(place, command):
        assert answer.status == 0, answer.out
        assert answer.data["step"] == before["step"] + 1
        # What is asked of the readings just typed is asked once.
        answered = {key: value for key, value in answer.data.items() if key != "look_again"}
        assert near(crew.status(), answered)
        return
    assert answer.status == 2
    assert crew.path.read_bytes() == plans[place]
    assert not Path(f"{crew.path}.previous").exists()
    error = answer.error
    due = {
        "run": "treadgate record",
        "choice": "treadgate choose",
        "change": "treadgate made",
        "nothing": "treadgate",
    }[before["due"]]
    if error["code"] == "not-due":
        assert due in error["try"]
        assert before["stage"] in error["message"]
    else:  # an id where nothing is on the table
        assert (error["code"], command) == ("no-candidate", "choose 1")


@pytest.mark.parametrize("place", PLACES)
def test_a_plan_is_never_begun_over_another(plans, crew, place) -> None:
    crew.path.write_bytes(plans[place])
    answer = crew.tries("start")
    assert answer.status == 2
    assert answer.error["code"] == "exists"
    assert crew.path.read_bytes() == plans[place]


@pytest.mark.parametrize("place", PLACES)
def test_status_and_why_answer_in_every_state_and_change_nothing(plans, crew, place) -> None:
    crew.path.write_bytes(plans[place])
    assert crew.status()["step"] == len(crew.why())
    assert crew.path.read_bytes() == plans[place]


@pytest.mark.parametrize("stage", STAGES)
def test_leaving_a_stage_or_an_own_change_needs_a_reason(plans, crew, stage) -> None:
    crew.path.write_bytes(plans[f"{stage}:choice"])
    for options in (["--move-on"], ["--move-on", "--reason", "  "], ["--own", "cross:car:0.5"]):
        answer = crew.tries("choose", *options)
        assert (answer.status, answer.error["code"]) == (2, "no-reason")
        assert crew.path.read_bytes() == plans[f"{stage}:choice"]


def test_a_fault_at_the_confirming_run_begins_a_new_round() -> None:
    assert (Place().state, Place().round) == ("camber:run", 1)
    assert go(Place("balance:choice", 3), "take", Evidence()) == Place("balance:change", 3)
    assert go(Place("confirm:run", 3), "good_run", Evidence("cross")) == Place("cross:choice", 4)
    assert go(Place("confirm:run", 3), "good_run", Evidence()) == Place("complete:nothing", 3)


def test_asking_the_table_moves_nothing() -> None:
    start = Place()
    assert go(start, "good_run", Evidence("balance")) == go(start, "good_run", Evidence("balance"))
    assert start == Place("camber:run", 1)
