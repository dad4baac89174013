"""``treadgate why``: why each change was made."""

from pathlib import Path

import click

from planner.commands import kinds, output
from planner.commands.options import plan_argument, view_options
from planner.plan.amendments import Which
from planner.storage import plans
from planner.storage.plans import Opened
from planner.trade.refusals import Refusal
from planner.words import story


@click.command("why")
@plan_argument
@click.argument("step", metavar="[STEP]", type=kinds.Step(), required=False)
@click.option("--knob", metavar="KNOB:CORNER", help="the life of one setting, such as camber:RF")
@click.option("--run", type=kinds.Run(), metavar="N", help="run N of the day, beside --against")
@click.option(
    "--against", type=kinds.Run(), metavar="M", help="run M, with what differs from run N"
)
@click.option("--table", "as_table", is_flag=True, help="the whole day as a table")
@click.option(
    "--setup",
    is_flag=True,
    help="every known setting: as begun, as it stands, how often moved",
)
@view_options
def command(
    plan: Path,
    step: Which | None,
    knob: str | None,
    run: int | None,
    against: int | None,
    as_table: bool,
    setup: bool,
    as_json: bool,
) -> None:
    """Tell why each change was made: one step, or the whole day.

    STEP is the number of a step, or a run by its own: run3.

    Instead of that, tell the life of one setting, set two runs side by side, show the day as a
    table, or the setup as it stands.
    """
    asked = (step is not None, knob is not None, run is not None, as_table, setup)
    if sum(asked) > 1:
        raise Refusal(
            "usage",
            "One thing at a time: a STEP, --knob, --run with --against, --table, or --setup.",
            where="treadgate why",
            hint="treadgate why PLAN --table",
        )
    if (run is None) != (against is None):
        raise Refusal(
            "usage",
            "--run and --against go together.",
            where="--run" if run is None else "--against",
            hint="treadgate why PLAN --run 3 --against 5",
        )
    opened = plans.open_plan(plan)
    for remark in opened.remarks:
        output.say(remark)
    if knob is not None:
        _life(opened, knob, as_json=as_json)
    elif run is not None and against is not None:
        _against(opened, run, against, as_json=as_json)
    elif as_table:
        _table(opened, as_json=as_json)
    elif setup:
        _setup(opened, as_json=as_json)
    else:
        _story(opened, step, as_json=as_json)


def _story(opened: Opened, which: Which | None, *, as_json: bool) -> None:
    step = None if which is None else which.among(opened.day.plan.step)
    told = story.tell(opened.day, step)
    sources = story.sources(opened.day) if step is None else ()
    if as_json:
        data = {"plan": str(opened.path), "steps": [each.as_dict() for each in told]}
        named = [{"rule": each.rule, "source": each.source} for each in sources]
        output.write_json(data | ({"sources": named} if step is None else {}))
        return
    from planner.screen import story_view as view

    view.show(opened, told, sources)


def _life(opened: Opened, knob: str, *, as_json: bool) -> None:
    from planner.words import one_setting

    found = one_setting.of(opened.day, one_setting.parse(knob, opened.day.settings))
    if as_json:
        output.write_json({"plan": str(opened.path), **found.as_dict()})
        return
    from planner.screen import setting_view

    setting_view.show(found)


def _against(opened: Opened, one: int, other: int, *, as_json: bool) -> None:
    from planner.export.two_runs import as_dict
    from planner.review import two_runs
    from planner.trade import units

    found = two_runs.compare(opened.day, one, other)
    if as_json:
        head = {"plan": str(opened.path), "units": units.JSON_UNITS}
        output.write_json({**head, **as_dict(found)})
        return
    from planner.screen import two_runs_view

    two_runs_view.show(found, opened.day.plan.units)


def _table(opened: Opened, *, as_json: bool) -> None:
    from planner.words import day_table

    rows = day_table.rows(opened.day)
    if as_json:
        output.write_json({"plan": str(opened.path), "rows": [row.as_dict() for row in rows]})
        return
    from planner.screen import table_view

    table_view.show(opened, rows)


def _setup(opened: Opened, *, as_json: bool) -> None:
    from planner.plan import on_car

    found = [each for each in on_car.setup(opened.day) if each.is_known]
    if as_json:
        settings = [each.as_dict() for each in found]
        output.write_json({"plan": str(opened.path), "settings": settings})
        return
    from planner.screen import setting_view

    setting_view.show_setup(opened, found)
