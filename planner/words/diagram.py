"""The machine of a test day, drawn as a Mermaid state diagram."""

from planner.plan.machine import MOVES, Condition

STATES = {
    "run_due": "a tuning stage: run due",
    "choice_due": "the stage that shows a fault: choice due",
    "change_due": "the same stage: change due",
    "confirm_run_due": "confirm: run due",
    "complete": "complete",
}
# The five tuning stages are drawn as one.
DRAWN_AS = {
    "STAGE:run": "run_due",
    "STAGE:choice": "choice_due",
    "FAULT:choice": "choice_due",
    "STAGE:change": "change_due",
    "cross:change": "change_due",
    "confirm:run": "confirm_run_due",
    "complete:nothing": "complete",
}
WHEN: dict[Condition, str] = {
    "a_fault_shows": "a stage shows a fault",
    "nothing_shows": "no stage shows a fault",
    "confirmed": "little enough is expected out of band",
    "not_yet": "no fault, not yet sure enough",
    "proved": "little enough is expected out of band",
    "unproved": "no fault, not yet sure enough or wear uneven",
    "an_offer_lies": "an offer against uneven wear",
    "void_by_now": "no run judges the car now",
    "a_fault_stands": "a stage shows a fault",
    "nothing_stands": "no stage shows a fault",
    "overtaken": "hours or tires may have done as much",
    "a_fault_counts": "the run before counts",
}


def drawn() -> str:
    """Return the table of moves as a Mermaid state diagram."""
    lines = ["stateDiagram-v2"]
    lines += [f"    {name} : {text}" for name, text in STATES.items()]
    lines.append(f"    [*] --> {DRAWN_AS['STAGE:run']}")
    for move in MOVES:
        when = "" if move.when == "always" else f" ({WHEN[move.when]})"
        lines.append(
            f"    {DRAWN_AS[move.source]} --> {DRAWN_AS[move.dest]} : {move.trigger}{when}"
        )
    lines.append("    complete --> [*]")
    return "\n".join(lines)
