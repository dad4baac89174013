"""``treadgate ahead``: how many runs the day may still take, and what certainty costs."""

from planner.advice.ahead import Forecast
from planner.commands import output, working
from planner.commands.on_plan import OnPlan, plan_command
from planner.files.file_name import in_command
from planner.plan import budget
from planner.trade.refusals import Refusal
from planner.words import budget as budget_words


@plan_command("ahead")
def command(on: OnPlan) -> None:
    """Forecast the rest of the day, and weigh certainty against runs."""
    opened = on.open()
    with working.told("Trying out the rest of the day"):
        whole = budget.forecast(opened.day)
        trade_off = () if whole is None else budget.trade_off(opened.day)
    if whole is None:
        says, hint = "no run judges the setup yet", "record a run first"
        if opened.day.due == "nothing":
            says, hint = "the day is complete", f"treadgate why {in_command(on.path)}"
        raise Refusal(
            "no-forecast", f"There is nothing to forecast: {says}.", where=str(on.path), hint=hint
        )
    if on.as_json:
        on.write_json(
            says=budget_words.says(whole),
            **_numbers(whole.expected),
            runs_left=whole.runs_left,
            fits=whole.fits,
            leave_out=whole.leave_out,
            trade_off=[{"certainty": sure, **_numbers(each)} for sure, each in trade_off],
        )
        return
    output.write(budget_words.says(whole))
    output.write("")
    output.write("certainty   more runs (80 % range)   minutes   truly in band, or within 1 °F")
    for sure, each in trade_off:
        mark = "*" if abs(sure - opened.day.plan.certainty) < 1e-9 else " "
        span = f"{each.runs:4.1f}  ({each.low} to {each.high})"
        output.write(f"  {sure:.1f} {mark}     {span:23} {each.minutes:7.0f}   {each.in_band:6.0%}")
    output.write("")
    output.write("* this plan. Simulated on cars like this one; the estimate runs a little long.")


def _numbers(expected: Forecast) -> dict[str, float]:
    return {
        "runs": round(expected.runs, 2),
        "low": expected.low,
        "high": expected.high,
        "minutes": round(expected.minutes, 1),
        "in_band": round(expected.in_band, 3),
    }
