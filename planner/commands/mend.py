"""``treadgate mend``: shows what can be saved of a damaged plan, and asks."""

import sys
from pathlib import Path
from typing import Any, NoReturn

import attrs
import click

from planner.commands import kinds, output
from planner.commands.options import plan_argument, view_options
from planner.files.file_name import in_command
from planner.storage import planfile, repair, since
from planner.storage.mend import Saved
from planner.storage.repair import Damage
from planner.trade.refusals import Refusal, Unusable

MOST_ROWS = 8  # lines of one side that are shown


@click.command("mend")
@plan_argument
@click.option("--yes", is_flag=True, help="take the first way that is shown, without a question")
@click.option(
    "--take", type=kinds.whole(1, 99, "2"), metavar="N", help="take this way, without a question"
)
@view_options
def command(plan: Path, yes: bool, take: int | None, as_json: bool) -> None:
    """Show what can be saved of a damaged PLAN, and ask which of it is to stand.

    Nothing is written before the answer. The damaged file is kept beside the mended one. Without a
    terminal, and without --yes or --take, nothing is written at all.
    """
    damage = repair.look_over(plan)
    if damage.trouble is None:
        _whole(damage, as_json=as_json)
        return
    if not damage.ways:
        if damage.trouble.code == planfile.ANOTHER_KIND:
            raise damage.trouble
        raise Unusable(
            "nothing-saved",
            f"{damage.trouble.message} Of this file nothing can be saved, and there is no version "
            "before it.",
            where=damage.trouble.where,
            hint="look for a copy; every other program leaves a plan file alone",
        )
    if not as_json:
        _show(damage)
    wanted = 1 if yes and take is None else take
    if yes and take is None and damage.ways and not damage.ways[0].plan.step:
        raise Refusal(
            "bad-value",
            f"Nothing that was recorded would be left. {damage.trouble.message}",
            where=f"--yes, {damage.trouble.where}",
            hint=f"put that right by hand in {plan}; --take 1 begins anew all the same",
        )
    if wanted is None and not as_json and sys.stdin.isatty():
        wanted = _asked(len(damage.ways))
        if wanted is None:
            output.say("Nothing was written.")
            return
    if wanted is None:
        _not_mended(damage, as_json=as_json)
    if wanted > len(damage.ways):
        raise Refusal(
            "bad-value",
            f"There is no way {wanted}; there are {len(damage.ways)}.",
            where="--take",
            hint="--take 1",
        )
    way = damage.ways[wanted - 1]
    _done(damage, way, repair.mend_plan(damage, way), as_json=as_json)


def _whole(damage: Damage, *, as_json: bool) -> None:
    if as_json:
        output.write_json({"plan": str(damage.path), "state": "whole", "steps": damage.steps})
    else:
        output.write(f"{damage.path} is whole: {since.steps(damage.steps)}. Nothing to mend.")


def _show(damage: Damage) -> None:
    assert damage.trouble is not None
    output.write(damage.trouble.message)
    output.write(f"  where: {damage.trouble.where}")
    for each in damage.conflicts:
        output.write(f"\nFrom line {each.line} it holds two versions, which differ in:")
        for side, rows in (("first", each.first), ("second", each.second)):
            for row in rows[:MOST_ROWS] or ("nothing of its own",):
                output.write(f"  {side:8}{row}")
            if len(rows) > MOST_ROWS:
                output.write(f"  {side:8}and {len(rows) - MOST_ROWS} lines more")
    output.write("\nWhat can be saved:")
    for number, way in enumerate(damage.ways, 1):
        output.write(f"{number}. {since.steps(len(way.plan.step))}, from {way.source}")
        for remark in way.remarks:
            output.write(f"     ! {remark}")
        for line in since.numbered(way.plan.step):
            output.write(f"     {line}")


def _asked(ways: int) -> int | None:
    """Ask which way to take; None for none."""
    # Loaded here: without a terminal nobody is asked.
    from planner.guide.prompts import Leave, Talk
    from planner.screen import paper

    numbers = "1" if ways == 1 else f"1-{ways}"

    def read(answer: str) -> int | None:
        if answer.lower() in ("", "n", "no"):
            return None
        if answer.isdecimal() and 1 <= int(answer) <= ways:
            return int(answer)
        raise Refusal("bad-value", "That is none of them.", hint=f"{numbers}, or Enter for none")

    try:
        return Talk(paper.console()).until(
            f"which one is to stand? [{numbers}, Enter writes nothing]",
            read,
            f"{numbers} writes that one and keeps the damaged file beside it; Enter writes nothing",
        )
    except Leave:
        return None


def _not_mended(damage: Damage, *, as_json: bool) -> NoReturn:
    trouble = damage.trouble
    assert trouble is not None
    refusal = Unusable(
        trouble.code,
        f"{trouble.message} Nothing was written.",
        where=trouble.where,
        hint=f"treadgate mend {in_command(damage.path)} --yes takes the first way, "
        "--take N another",
    )
    if not as_json:
        raise refusal
    ways = [_way(n, way) for n, way in enumerate(damage.ways, 1)]
    found = {"conflicts": [attrs.asdict(each) for each in damage.conflicts]}
    output.write_json(
        {"error": refusal.as_dict(), "ways": ways} | (found if damage.conflicts else {})
    )
    raise click.exceptions.Exit(refusal.exit_status)


def _way(number: int, way: Saved) -> dict[str, Any]:
    return {
        "id": str(number),
        "from": way.source,
        "steps": since.numbered(way.plan.step),
        "remarks": list(way.remarks),
    }


def _done(damage: Damage, way: Saved, aside: Path | None, *, as_json: bool) -> None:
    kept = None if aside is None else str(aside)
    steps = len(way.plan.step)
    if as_json:
        said = {"plan": str(damage.path), "state": "mended", "steps": steps, "from": way.source}
        output.write_json({**said, "remarks": list(way.remarks), "damaged": kept})
        return
    if kept is not None:
        output.write(f"The damaged file is kept as {kept}.")
    output.write(f"{damage.path} holds {since.steps(steps)} now. Where the day stands:")
    output.write(f"  treadgate status {in_command(damage.path)}")
