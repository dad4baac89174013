"""``treadgate why``: why each change was made."""

from collections.abc import Callable
from pathlib import Path

import click

from planner.commands import kinds
from planner.commands.on_plan import OnPlan, plan_command
from planner.plan.amendments import Which
from planner.storage.plans import Opened
from planner.trade.refusals import Refusal
from planner.words import story


@plan_command("why")
@click.argument("step", metavar="[STEP]", type=kinds.Step(), required=False)
@click.option("--knob", metavar="KNOB:CORNER", help="the life of one setting, such as camber:RF")
@click.option("--run", type=kinds.Run(), metavar="N", help="run N of the day, beside --against")
@click.option(
    "--against",
    type=kinds.RunOrPlan(),
    metavar="M_OR_PLAN",
    help="run M, with what differs from run N; or another day's plan, without --run",
)
@click.option("--table", "as_table", is_flag=True, help="the whole day as a table")
@click.option(
    "--setup",
    is_flag=True,
    help="every known setting: at the start, now, how often moved",
)
def command(
    on: OnPlan,
    step: Which | None,
    knob: str | None,
    run: int | None,
    against: int | Path | None,
    as_table: bool,
    setup: bool,
) -> None:
    """Tell why each change was made: one step, or the whole day.

    STEP is the number of a step, or a run by its own number: run3.

    Or show the life of one setting, two runs or two days side by side, the day as a table, or the
    setup as it stands.
    """
    if isinstance(against, int) != (run is not None):
        raise Refusal(
            "usage",
            "--run and --against go together.",
            where="--run" if run is None else "--against",
            hint="treadgate why PLAN --run 3 --against 5",
        )
    views: list[Callable[[Opened], None]] = []
    if step is not None:
        views.append(lambda opened: _story(on, opened, step))
    if knob is not None:
        views.append(lambda opened: _life(on, opened, knob))
    if isinstance(against, Path):
        views.append(lambda opened: _days(on, opened, against))
    elif run is not None and against is not None:
        views.append(lambda opened: _against(on, opened, run, against))
    if as_table:
        views.append(lambda opened: _table(on, opened))
    if setup:
        views.append(lambda opened: _setup(on, opened))
    if len(views) > 1:
        raise Refusal(
            "usage",
            "One thing at a time: a STEP, --knob, --against, --table, or --setup.",
            where="treadgate why",
            hint="treadgate why PLAN --table",
        )
    opened = on.open()
    (show,) = views or [lambda opened: _story(on, opened, None)]
    show(opened)


def _story(on: OnPlan, opened: Opened, which: Which | None) -> None:
    step = None if which is None else which.among(opened.day.plan.step)
    told = story.tell(opened.day, step)
    sources = story.sources(opened.day) if step is None else ()
    if on.as_json:
        named = [{"rule": each.rule, "source": each.source} for each in sources]
        rest = {"sources": named} if step is None else {}
        on.write_json(steps=[each.as_dict() for each in told], **rest)
        return
    from planner.screen import story_view as view

    view.show(opened, told, sources)


def _life(on: OnPlan, opened: Opened, knob: str) -> None:
    from planner.words import one_setting

    found = one_setting.of(opened.day, one_setting.parse(knob, opened.day.settings))
    if on.as_json:
        on.write_json(**found.as_dict())
        return
    from planner.screen import setting_view

    setting_view.show(found)


def _against(on: OnPlan, opened: Opened, one: int, other: int) -> None:
    from planner.export.two_runs import as_dict
    from planner.review import two_runs
    from planner.trade import units

    found = two_runs.compare(opened.day, one, other)
    if on.as_json:
        on.write_json(units=units.JSON_UNITS, **as_dict(found))
        return
    from planner.screen import two_runs_view

    two_runs_view.show(found, opened.day.plan.units)


def _days(on: OnPlan, opened: Opened, path: Path) -> None:
    from planner.review import two_days
    from planner.review.season import DayOfCar
    from planner.storage import plans

    other = plans.open_plan(path)
    found = two_days.compare(DayOfCar(opened.path, opened.day), DayOfCar(path, other.day))
    if on.as_json:
        from planner.export import season
        from planner.trade import units

        on.write_json(units=units.JSON_UNITS, **season.two_days(found))
        return
    from planner.screen import two_days_view

    two_days_view.show(found)


def _table(on: OnPlan, opened: Opened) -> None:
    from planner.words import day_table

    rows = day_table.rows(opened.day)
    if on.as_json:
        on.write_json(rows=[row.as_dict() for row in rows])
        return
    from planner.screen import table_view

    table_view.show(opened, rows)


def _setup(on: OnPlan, opened: Opened) -> None:
    from planner.plan import on_car

    found = [each for each in on_car.setup(opened.day) if each.is_known]
    if on.as_json:
        on.write_json(settings=[each.as_dict() for each in found])
        return
    from planner.screen import setting_view

    setting_view.show_setup(opened, found)
