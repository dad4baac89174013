"""The choice: a candidate, another amount of it, the crew's own change, or moving on."""

from collections.abc import Sequence

from planner.advice.candidate import Candidate
from planner.car import changes
from planner.guide import amend, preview
from planner.guide.preview import Move
from planner.guide.prompts import BACK, Back, or_first, yes
from planner.guide.session import Bench, beyond_answering
from planner.plan import moves
from planner.screen import day_view, offer_view, paper, pattern_view
from planner.trade import knobs
from planner.trade.refusals import Refusal, quoted
from planner.words import changes as change_words

_TRIMS = (
    "Enter takes the trims along with the change; n takes the change alone; b goes back to the "
    "choice."
)


def take(bench: Bench) -> None:
    """Show what the tires say and what could be done, and store the crew's choice."""
    day = bench.day
    bench.talk.show(
        [
            *pattern_view.outcome(day),
            *day_view.last_run(day, bench.talk.console.width),
            *pattern_view.patterns(day),
            *offer_view.table(day),
            *day_view.cautions(day),
            paper.heading(f"Due now: {day_view.due_words(day)}"),
        ]
    )
    found = day.table().candidates
    if not found:
        bench.talk.say("The rules offer nothing here: make a change of your own, or move on.")
    bench.talk.hint(_answers(found))
    more = [*("a" if _singles(found) else ""), *("?" if found else "")]
    prompt = "choice [" + "/".join([*(c.id for c in found), *more, "o/m]"])

    def tell() -> None:
        if found:
            _explain(bench, _picked(_which(bench, found), found, _answers(found)))
        bench.talk.hint(f"{_answers(found)}; amend: {amend.TOLD}")

    while True:
        try:
            move = bench.talk.until(prompt, lambda answer: _move(bench, answer, found), tell)
            if move is not None and preview.confirmed(bench, move):
                bench.store(move)
                return
        except Back:
            bench.talk.say("Back to the choice.")
        except Refusal as refusal:
            if beyond_answering(refusal):
                raise
            bench.talk.refuse(refusal)


def offer(bench: Bench) -> bool:
    """Show what lies on the table though nothing is out of band; say whether it was taken."""
    day = bench.day
    found = day.table().candidates
    bench.talk.show(offer_view.table(day))
    bench.talk.say("No temperature is out of band: this one may be taken or left.")
    answers = "a number takes it; ? tells more; Enter leaves it and goes on to the run"
    bench.talk.hint(answers)
    prompt = "take or leave [" + "/".join([*(c.id for c in found), "?", "Enter]"])
    while True:
        answer = bench.talk.ask(prompt)
        if not answer:
            return False
        try:
            if answer.startswith("?"):
                _explain(bench, _picked(answer[1:] or _which(bench, found), found, answers))
                bench.talk.hint(f"{answers}; amend: {amend.TOLD}")
                continue
            if amend.asked_for(answer):
                amend.take(bench, answer)
                continue
            move = _taking(_picked(answer, found, answers))
            if preview.confirmed(bench, move):
                bench.store(move)
                return True
        except Back:
            bench.talk.hint(answers)
        except Refusal as refusal:
            if beyond_answering(refusal):
                raise
            bench.talk.refuse(or_first(refusal, answer))


def move_on(bench: Bench) -> None:
    """Ask why, and leave the stage, or the confirming run, as it is."""
    try:
        move = _moving_on(bench)
    except Back:
        return
    if preview.confirmed(bench, move):
        bench.store(move)


def _singles(found: Sequence[Candidate]) -> list[Candidate]:
    """Return the candidates that are one change but for trims: it can be given another amount."""
    return [each for each in found if sum(not change.trim for change in each.changes) == 1]


def _answers(found: Sequence[Candidate]) -> str:
    """Say what can be typed at the choice."""
    said = ["o makes a change of your own", "m moves on and leaves this as it is", "q leaves"]
    if found:
        numbers = {1: "1", 2: "1 or 2"}.get(len(found), f"1 to {len(found)}")
        resized = ["a takes another amount"] if _singles(found) else []
        said[:0] = [f"{numbers} takes it", *resized, "? tells more"]
    return "; ".join(said)


def _move(bench: Bench, answer: str, found: Sequence[Candidate]) -> Move | None:
    """Return the move an answer asks for; None when it only wanted to know."""
    word, _, rest = answer.partition(" ")
    if answer.startswith("?"):
        _explain(bench, _picked(answer[1:], found, _answers(found)))
        return None
    if amend.asked_for(answer):
        amend.take(bench, answer)
        return None
    if word.lower() == "o":
        return _own(bench, rest)
    if word.lower() == "m":
        return _moving_on(bench)
    if word.lower() == "a":
        return _another_amount(bench, rest.split(), found)
    chosen = _picked(answer, found, _answers(found))
    if any(change.trim for change in chosen.changes):
        trims = bench.talk.until("With the riding trims? [Y/n]", yes, _TRIMS, back=True)
        return _taking(chosen, trims=trims)
    return _taking(chosen)


def _taking(chosen: Candidate, *, amount: float | None = None, trims: bool = True) -> Move:
    return lambda day, at: moves.choose(day, chosen.id, at, amount=amount, trims=trims)


def _picked(answer: str, found: Sequence[Candidate], answers: str) -> Candidate:
    wanted = answer.strip().rstrip(".")
    for candidate in found:
        if candidate.id == wanted:
            return candidate
    said = (
        f"{quoted(wanted)} is none of the answers here." if wanted else "An answer is wanted here."
    )
    raise Refusal("no-candidate", said, hint=answers)


def _which(bench: Bench, found: Sequence[Candidate]) -> str:
    if len(found) < 2:
        return found[0].id if found else ""
    answers = f"one of {', '.join(candidate.id for candidate in found)}; b goes back to the choice"
    return bench.talk.until(
        "which one", lambda answer: _picked(answer, found, answers).id, answers, back=True
    )


def _explain(bench: Bench, candidate: Candidate) -> None:
    bench.talk.show(offer_view.full(candidate, bench.day))


def _another_amount(bench: Bench, typed: list[str], found: Sequence[Candidate]) -> Move:
    singles = _singles(found)
    if typed and len(singles) == 1 and typed[0] not in {each.id for each in found}:
        typed = [singles[0].id, *typed]  # the amount alone says enough
    wanted = typed[0] if typed else _which(bench, singles)
    if not singles or wanted in {c.id for c in found if c not in singles}:
        raise Refusal(
            "bad-value",
            "Only a single change can be resized"
            + ("; this is a bundle." if found else ", and none is offered here."),
            hint="o makes a change of your own: each part with its own amount",
        )
    chosen = _picked(wanted, found, ", ".join(candidate.id for candidate in singles))
    (change,) = (each for each in chosen.changes if not each.trim)
    usual = knobs.shown(change.knob, change.amount)
    if len(typed) > 1:
        amount = changes.amount_like(" ".join(typed[1:]), "amount", change)
    else:
        amount = bench.talk.until(
            f"{change.corner} {change.knob}: how much instead of {usual}",
            lambda answer: changes.amount_like(answer, "amount", change),
            f"The amount, such as {change.amount / 2:+g}; without a sign it goes the same way. b "
            "goes back to the choice.",
            back=True,
        )
    return _taking(chosen, amount=amount)


def _own(bench: Bench, typed: str) -> Move:
    """Return the crew's own change; raises `Back` when it would rather go back to the choice."""
    if typed == "?":
        _list_knobs(bench)
    if typed in ("", "?"):
        bench.talk.hint(
            "For example RF pressure -1.0 or pressure:RF:-1.0; several on a line. Knobs: "
            + ", ".join(f"{knob.name} ({knob.unit})" for knob in knobs.KNOBS.values())
            + ". ? tells where each is and what + means; Enter goes back to the choice."
        )
        wanted = bench.talk.until("your own change", _own_or_back, lambda: _list_knobs(bench))
    else:
        wanted = own_changes(typed)
    understood = change_words.listed(changes.make(*each, {}) for each in wanted)
    bench.talk.hint(f"Understood: {understood}. Why, in a few words? b goes back.")
    reason = bench.talk.reason("why")
    return lambda day, at: moves.choose_own(day, wanted, reason, at)


def _own_or_back(answer: str) -> list[tuple[str, str, float]]:
    if answer.lower() in ("", "n", "no", *BACK):
        raise Back
    return own_changes(answer)


def _list_knobs(bench: Bench) -> None:
    rows = [
        paper.hanging(
            knob.name,
            f"at {', '.join(knob.places)}, in {knob.unit}; + is "
            + " or ".join(dict.fromkeys(knob.more.format(place=place) for place in knob.places)),
            10,
        )
        for knob in knobs.KNOBS.values()
    ]
    bench.talk.show(rows)


def own_changes(text: str) -> list[tuple[str, str, float]]:
    """Read one change or several, as `changes.parse_all` does."""
    if not text:
        raise Refusal("bad-value", "No change is given.", hint="for example pressure:RF:-1.0")
    return changes.parse_all(text, "")


def _moving_on(bench: Bench) -> Move:
    reason = bench.talk.reason("why move on")
    return lambda day, at: moves.move_on(day, reason, at)
