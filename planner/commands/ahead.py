"""``treadgate ahead``: how many runs the day may still take, and what certainty costs."""

from planner.commands import output
from planner.commands.on_plan import OnPlan, plan_command
from planner.files.file_name import in_command
from planner.plan import budget
from planner.trade.refusals import Refusal


@plan_command("ahead")
def command(on: OnPlan) -> None:
    """Forecast the rest of the day, and weigh certainty against runs."""
    opened = on.open()
    whole = budget.forecast(opened.day)
    if whole is None:
        says, hint = "no run judges the setup yet", "record a run first"
        if opened.day.due == "nothing":
            says, hint = "the day is complete", f"treadgate why {in_command(on.path)}"
        raise Refusal(
            "no-forecast", f"There is nothing to forecast: {says}.", where=str(on.path), hint=hint
        )
    trade_off = budget.trade_off(opened.day)
    if on.as_json:
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
        on.write_json(says=whole.says, trade_off=rows)
        return
    output.write(whole.says)
    output.write("")
    output.write("certainty   more runs (80 % range)   minutes   truly in band, or within 1 °F")
    for sure, each in trade_off:
        mark = "*" if abs(sure - opened.day.plan.certainty) < 1e-9 else " "
        span = f"{each.runs:4.1f}  ({each.low} to {each.high})"
        output.write(f"  {sure:.1f} {mark}     {span:23} {each.minutes:7.0f}   {each.in_band:6.0%}")
    output.write("")
    output.write("* this plan. Simulated on cars like this one; the estimate runs a little long.")
