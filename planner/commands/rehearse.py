"""``treadgate rehearse``: a whole day with a simulated car."""

import secrets
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from planner.commands import kinds, output, working
from planner.commands.options import view_options
from planner.storage.plans import Opened
from planner.storage.starting import NewPlan
from planner.trade.refusals import Refusal

if TYPE_CHECKING:  # numpy and rich come with them
    from rich.console import Console

    from planner.rehearsal.car import SimulatedCar


@click.command("rehearse")
@click.option("--auto", is_flag=True, help="take the first candidate each time, and watch")
@click.option(
    "--fault",
    "faults",
    multiple=True,
    metavar="KNOB.PLACE=AMOUNT",
    help="what is wrong with the car, such as camber.RF=+1.5; may be repeated; "
    "drawn at random if omitted",
)
@click.option(
    "--seed",
    type=kinds.whole(0, 2**31, "7"),
    metavar="N",
    help="a number that fixes everything random",
)
@click.option(
    "--plan",
    "path",
    type=kinds.File(),
    metavar="FILE",
    help="the plan file (rehearsal-SEED.toml); an existing one is continued",
)
@click.option("--rules", default="paved-oval", metavar="ID_OR_FILE", help="rules to use")
@click.option(
    "--car",
    type=kinds.File(),
    metavar="CAR.toml",
    help="the car to simulate; an invented one if omitted",
)
@view_options
def command(
    auto: bool,
    faults: tuple[str, ...],
    seed: int | None,
    path: Path | None,
    rules: str,
    car: Path | None,
    as_json: bool,
) -> None:
    """Rehearse a day with a simulated car that has hidden faults, then open its hood.

    Without --auto the guide runs, and the simulated car drives the laps. Give the same --seed (and
    --fault) again to go on with a day that was left halfway.
    """
    if as_json and not auto:
        raise Refusal("usage", "--json goes with --auto only.", where="--json", hint="add --auto")
    number = secrets.randbelow(100_000) if seed is None else seed
    target = path or Path(f"rehearsal-{number}.toml")
    from planner.screen import paper
    from planner.words import rehearsal as words

    console = paper.console()
    with working.told("Building the car"):
        simulated, opened = _begin(number, target, rules, car, faults)
    if not as_json:
        output.write(words.kept(number, opened.path))
    if as_json:
        with working.told("Driving the day"):
            opened = _watch(simulated, opened, None)
    elif auto:
        opened = _watch(simulated, opened, console)
    else:
        opened = _guide(simulated, opened, console)
    _open_hood(simulated, opened, None if as_json else console)


def _begin(
    seed: int, target: Path, rules: str, car: Path | None, faults: tuple[str, ...]
) -> "tuple[SimulatedCar, Opened]":
    """Draw the car and make its plan, or take up the plan that is there."""
    from planner.car import car_file
    from planner.rehearsal import by_the_plan
    from planner.rehearsal import faults as faulty
    from planner.rehearsal.car import SimulatedCar, invented
    from planner.rulebook.rules_file import find, load
    from planner.storage import plans, starting

    wrong = faulty.parse(faults) if faults else None
    book = load(find(rules))
    if "left" not in book.turns:
        raise Refusal(
            "bad-value",
            f"The rehearsal track turns left; the {book.id} rules are for tracks that turn "
            f"{' or '.join(book.turns)}.",
            where="--rules",
            hint="--rules paved-oval",
        )
    known = car_file.load(car or invented())
    simulated = SimulatedCar(seed, wrong, car=known, book=book)
    if target.exists():
        opened = plans.open_plan(target)
        by_the_plan.catch_up(simulated, opened.day)
        return simulated, opened
    return simulated, starting.start(
        target, NewPlan(rules=rules, turns="left", from_scratch=True), simulated.file()
    )


def _watch(simulated: "SimulatedCar", opened: Opened, console: "Console | None") -> Opened:
    """Follow the planner to the end of the day, showing each step as it comes."""
    from planner.rehearsal import by_the_plan
    from planner.screen import rehearsal_view
    from planner.storage import plans

    while (move := by_the_plan.next_move(simulated, opened.day)) is not None:
        opened = plans.step(opened.path, move)
        if console is not None:
            rehearsal_view.watch(opened.day, simulated.runs, console)
    return opened


def _guide(simulated: "SimulatedCar", opened: Opened, console: "Console") -> Opened:
    """Take the person through the guide, the simulated car doing the runs."""
    from planner.guide import loop as rounds
    from planner.guide.prompts import Talk
    from planner.rehearsal import by_the_plan
    from planner.storage import plans

    talk = Talk(console)
    rounds.guide(talk, opened.path, NewPlan(), lambda day: by_the_plan.run(simulated, day))
    return plans.open_plan(opened.path)


def _open_hood(simulated: "SimulatedCar", opened: Opened, console: "Console | None") -> None:
    """Show what was wrong with the car and what the day has come to; as JSON without a console."""
    from planner.plan import day as days
    from planner.rehearsal import hood

    simulated.stand_at(days.moved_by(opened.day.past))
    found = hood.opened(simulated, opened.day)
    if console is None:
        told: dict[str, Any] = {
            "plan": str(opened.path),
            "seed": simulated.seed,
            "rules": opened.day.plan.rules.id,
            "units": {"temperature": "degF", "pressure": "psi", "weight": "lb"},
            **hood.as_dict(found),
        }
        output.write_json(told)
        return
    from planner.screen import hood_view, paper
    from planner.words import rehearsal as words

    window = opened.day.car.tires.window or opened.day.book.window
    paper.put(console, hood_view.show(found, window))
    output.write(f"\n{words.once_more(simulated.seed, opened.path)}")
