"""The change: what to do on the car, and what really came of it."""

from collections.abc import Sequence

from planner.advice.candidate import Candidate
from planner.car import changes
from planner.guide import amend
from planner.guide.preview import Move
from planner.guide.prompts import Back
from planner.guide.session import Bench, beyond_answering
from planner.plan import moves
from planner.plan.steps import MadeStep
from planner.screen import day_view, paper
from planner.storage import planfile
from planner.trade.refusals import Refusal
from planner.words import changes as change_words

Actual = list[tuple[str, str, float]]


def make(bench: Bench) -> None:
    """Show the work and store what was made, once the crew says so."""
    pending = bench.day.pending
    assert pending is not None
    bench.talk.show(
        [
            *day_view.pending(bench.day),
            *day_view.cautions(bench.day),
            paper.heading(f"Due now: {day_view.due_words(bench.day)}"),
        ]
    )
    bench.talk.hint(
        "Enter when it is on the car as shown; or type what it came out at, "
        f"for example {_example(pending)}; b takes the choice back; q leaves it for later"
    )

    def tell() -> None:
        rows = {
            "Enter": "it is on the car as shown",
            _example(pending): "what it came out at, as knob:corner:amount; a number alone is how "
            "far it went, the same way where it has no sign, or the setting it came to",
            "n": "not made yet",
            "b": "take the choice back and choose again; nothing was touched",
            "amend": amend.TOLD,
            "q": "leave; the change stays due",
        }
        bench.talk.show([paper.hanging(word, said, 34) for word, said in rows.items()])

    def read(answer: str) -> Actual | None:
        if amend.asked_for(answer):
            amend.take(bench, answer)
            return None
        return _read(answer, pending)

    while True:
        try:
            actual = bench.talk.until("made? [Enter]", read, tell, back=True)
            if actual is not None and (not actual or _confirmed(bench, actual)):
                bench.store(_made(actual))
                return
        except Back:
            if bench.talk.yes(
                "Take the choice back?", "Enter lays the candidates on the table again.", back=True
            ):
                bench.store(lambda day, at: moves.take_back(day, "", at))
                return
        except Refusal as refusal:
            if beyond_answering(refusal):
                raise
            bench.talk.refuse(refusal)


def _made(actual: Actual) -> Move:
    return lambda day, at: moves.made(day, at, actual)


def _example(pending: Candidate) -> str:
    change = pending.changes[0]
    alone = f"{change.amount / 2:+g} or " if len(pending.changes) == 1 else ""
    return f"{alone}{change.knob}:{change.corner}:{change.amount / 2:+g}"


def _read(answer: str, pending: Candidate) -> Actual:
    """Return what came out otherwise: nothing when as chosen."""
    if answer.lower() in ("", "y", "yes", "made", "done"):
        return []
    if answer.lower() in ("n", "no"):
        raise Refusal("not-made", "Not yet, then. Nothing was stored.", hint="Enter once it is")
    return changes.came_out(answer, pending.changes, "")


def _confirmed(bench: Bench, actual: Sequence[tuple[str, str, float]]) -> bool:
    trial = moves.made(bench.day, planfile.now(), actual)
    step = trial.plan.step[-1]
    assert isinstance(step, MadeStep)
    on_car = ", ".join(
        change_words.in_words(change)
        if change.amount
        else f"{change.corner} {change.knob} as it was"
        for change in step.changes
    )
    bench.talk.show([paper.indented(f"On the car: {on_car}.", 2)])
    known = [each for each in step.changes if each.amount and each.after is not None]
    bench.talk.show(paper.indented(f"{change_words.from_to(each)}.", 2) for each in known)
    return bench.talk.yes(
        "Is that right?", "Enter stores it as shown; n goes back, to say it again.", back=True
    )
