"""``treadgate ahead``: how many runs the day may still take, and what certainty costs."""

from pathlib import Path

import click

from planner.commands import output
from planner.commands.options import json_option, plan_argument
from planner.files.file_name import in_command
from planner.plan import budget
from planner.storage import plans
from planner.trade.refusals import Refusal
from planner.words.forecast import runs_ahead


@click.command("ahead")
@plan_argument
@json_option
def command(plan: Path, as_json: bool) -> None:
    """Forecast the rest of the day, and weigh certainty against runs."""
    opened = plans.open_plan(plan)
    whole = budget.forecast(opened.day)
    if whole is None:
        says, hint = "no run judges the setup yet", "record a run first"
        if opened.day.due == "nothing":
            says, hint = "the day is complete", f"treadgate why {in_command(plan)} looks back on it"
        raise Refusal(
            "no-forecast", f"There is nothing to forecast: {says}.", where=str(plan), hint=hint
        )
    trade_off = budget.trade_off(opened.day)
    if as_json:
        rows = [
            {
                "certainty": sure,
                "runs": round(each.runs, 2),
                "low": each.low,
                "high": each.high,
                "minutes": round(each.minutes, 1),
                "in_band": round(each.in_band, 3),
            }
            for sure, each in trade_off
        ]
        output.write_json({"plan": str(plan), "says": runs_ahead(whole), "trade_off": rows})
        return
    output.write(runs_ahead(whole))
    output.write("")
    output.write("certainty   more runs (80 % range)   minutes   truly in band, or within 1 °F")
    for sure, each in trade_off:
        mark = "*" if abs(sure - opened.day.plan.certainty) < 1e-9 else " "
        span = f"{each.runs:4.1f}  ({each.low} to {each.high})"
        output.write(f"  {sure:.1f} {mark}     {span:23} {each.minutes:7.0f}   {each.in_band:6.0%}")
    output.write("")
    output.write("* the plan's own. Tried on cars drawn from what is known; errs on the long side.")
