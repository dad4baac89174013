"""``treadgate mend``: shows what can be saved of a damaged plan, and asks."""

import sys
from pathlib import Path
from typing import Any, NoReturn

import attrs
import click

from planner.commands import kinds, output
from planner.commands.on_plan import OnPlan, plan_command
from planner.files.file_name import in_command
from planner.storage import planfile, repair, since
from planner.storage.mend import Saved
from planner.storage.repair import Damage
from planner.trade.refusals import Refusal, Unusable, quoted

MOST_ROWS = 8  # lines of one side that are shown


@plan_command("mend")
@click.option("--yes", is_flag=True, help="take the first way that is shown; do not ask")
@click.option("--take", type=kinds.whole(1, 99, "2"), metavar="N", help="take way N; do not ask")
def command(on: OnPlan, yes: bool, take: int | None) -> None:
    """Show what can be saved of a damaged PLAN, and ask which of it to keep.

    Nothing is written before you answer. The damaged file is kept beside the mended one. Without a
    terminal, and without --yes or --take, nothing is written at all.
    """
    damage = repair.look_over(on.path)
    trouble = damage.trouble
    if trouble is None:
        _whole(on, damage)
        return
    if not damage.ways:
        raise _nothing_saved(trouble)
    if not on.as_json:
        _show(damage, trouble)
    if yes and take is None and not damage.ways[0].plan.step:
        raise Refusal(
            "bad-value",
            f"That would keep nothing that was recorded. {trouble.message}",
            where=f"--yes, {trouble.where}",
            hint=f"correct {on.path} by hand; --take 1 starts over",
        )
    number = take or (1 if yes else None)
    if number is None and not on.as_json and sys.stdin.isatty():
        number = _asked(len(damage.ways))
        if number is None:
            output.say("Nothing was written.")
            return
    if number is None:
        _not_mended(on, damage, trouble)
    if number > len(damage.ways):
        raise Refusal(
            "bad-value",
            f"There is no way {number}; use 1 to {len(damage.ways)}.",
            where="--take",
            hint="--take 1",
        )
    way = damage.ways[number - 1]
    _done(on, way, repair.mend_plan(damage, way))


def _nothing_saved(trouble: Refusal) -> Refusal:
    if trouble.code == planfile.ANOTHER_KIND:
        return trouble
    return Unusable(
        "nothing-saved",
        f"{trouble.message} Nothing in this file can be saved, and there is no version before it.",
        where=trouble.where,
        hint="look for a copy; Treadgate leaves the file as it is",
    )


def _whole(on: OnPlan, damage: Damage) -> None:
    if on.as_json:
        on.write_json(state="whole", steps=damage.steps)
    else:
        output.write(f"{damage.path} is whole: {since.steps(damage.steps)}. Nothing to mend.")


def _show(damage: Damage, trouble: Refusal) -> None:
    output.write(trouble.message)
    output.write(f"  where: {trouble.where}")
    for each in damage.conflicts:
        output.write(f"\nFrom line {each.line} it holds two versions, which differ in:")
        for side, rows in (("first", each.first), ("second", each.second)):
            for row in rows[:MOST_ROWS] or ("nothing of its own",):
                output.write(f"  {side:8}{row}")
            if len(rows) > MOST_ROWS:
                output.write(f"  {side:8}and {len(rows) - MOST_ROWS} more lines")
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
        raise Refusal(
            "bad-value", f"{quoted(answer)} is not on the list.", hint=f"{numbers}, or Enter"
        )

    try:
        return Talk(paper.console()).until(
            f"which one to keep? [{numbers}, Enter writes nothing]",
            read,
            f"{numbers} writes that one and keeps the damaged file beside it; Enter writes nothing",
        )
    except Leave:
        return None


def _not_mended(on: OnPlan, damage: Damage, trouble: Refusal) -> NoReturn:
    refusal = Unusable(
        trouble.code,
        f"{trouble.message} Nothing was written.",
        where=trouble.where,
        hint=f"treadgate mend {in_command(on.path)} --yes takes the first way, --take N another",
    )
    if not on.as_json:
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


def _done(on: OnPlan, way: Saved, aside: Path | None) -> None:
    steps = len(way.plan.step)
    output.is_done("The plan is mended.")
    if on.as_json:
        said = {"state": "mended", "steps": steps, "from": way.source}
        kept = None if aside is None else str(aside)
        on.write_json(**said, remarks=list(way.remarks), damaged=kept)
        return
    if aside is not None:
        output.write(f"The damaged file is kept as {aside}.")
    output.write(f"{on.path} now holds {since.steps(steps)}. To see where the day stands:")
    output.write(f"  treadgate status {in_command(on.path)}")
