"""A run: ten laps, twelve numbers, anything else, a look at them, and only then stored."""

from collections.abc import Sequence

import attrs

from planner.car import changes
from planner.guide import amend, extras, tires
from planner.guide import draft as drafts
from planner.guide.draft import Draft, Way
from planner.guide.prompts import BACK, NOTHING_BEFORE, Back
from planner.guide.session import Bench, Drives
from planner.guide.tires import typed_order
from planner.plan import moves, wrong_entries
from planner.run import slips
from planner.run.readings import Run
from planner.run.slips import AirQuestion, Question
from planner.screen import car_view, day_view, paper
from planner.storage import planfile
from planner.trade import units
from planner.trade.corners import CORNERS, Corner, Three, reading_order
from planner.trade.refusals import Refusal, quoted
from planner.words import changes as change_words
from planner.words import remarks as remark_words

_WAYS: dict[str, Way] = {"imo": "imo", "lr": "lr"}
_WAY_WORDS: dict[Way, str] = {
    "imo": "inner, middle, outer on every tire",
    "lr": "left to right as the car stands: left tires outer first, right tires inner first",
}


@attrs.frozen
class Store:
    """The crew's word that a run may be stored."""

    run: Run


class MoveOn(Exception):
    """The crew would rather move on than run."""


def take(bench: Bench) -> None:
    """Take a run from the first number to the stored step.

    Every answer is put into the draft at once, and what is asked next is read off the draft: a
    run taken up again goes on where it was left.

    Raises
    ------
    MoveOn
        The crew ends the day without the confirming run.
    """
    if bench.drives is not None:
        _driven(bench, bench.drives)
        return
    draft = _taken_up(bench)
    try:
        _asked(bench, draft)
    except amend.PutRight:
        # What is typed of this run is of the run that is due still, one step later.
        if bench.typed is not None and bench.day.due == "run":
            bench.keep(attrs.evolve(bench.typed, after=bench.steps))
        raise


def _asked(bench: Bench, draft: Draft) -> None:
    """Ask one thing after the other until the run is stored."""
    while True:
        if draft.back_at is not None or any(corner not in draft.tires for corner in CORNERS):
            changed = _ask_tire(bench, draft)
        elif not draft.finished:
            changed = _ask_extras(bench, draft)
        else:
            question, air = _doubt(bench, draft), _doubted_air(bench, draft)
            if question is not None:
                changed = _ask_doubt(bench, draft, question)
            elif air:
                changed = _ask_air(bench, draft, air)
            else:
                answer = _ask_store(bench, draft)
                if isinstance(answer, Store):
                    try:
                        _store(bench, answer.run)
                    except Back:
                        continue  # to the question about storing
                    return
                changed = answer
        if changed != draft:
            draft = changed
            bench.keep(draft)


def _driven(bench: Bench, drives: Drives) -> None:
    """Let a simulated car do the run, show what the crew reads, and store it."""
    confirming = bench.day.stage == "confirm"
    bench.talk.show([paper.heading(f"Due now: {day_view.due_words(bench.day)}")])
    leave = "m ends the day here, without the confirming run; " if confirming else ""
    answers = f"Enter lets the simulated car drive; {leave}q leaves"
    bench.talk.hint(answers)

    def read(answer: str) -> None:
        if answer.lower() == "m" and confirming:
            raise MoveOn
        if answer:
            hint = "Enter, m, or q" if confirming else "Enter, or q"
            raise Refusal("bad-value", f"{quoted(answer)} is none of the answers here.", hint=hint)

    bench.talk.until("drive [Enter]", read, answers)
    driven = drives(bench.day)
    bench.talk.show([car_view.car(driven.tires, bench.window, bench.system)])
    _store(bench, driven)


def _taken_up(bench: Bench) -> Draft:
    plan = bench.day.plan
    if bench.typed is not None and bench.typed.begun and _of_this_run(bench, bench.typed):
        return attrs.evolve(bench.typed, after=len(plan.step))
    kept = drafts.load(bench.path, plan)
    if kept is not None and kept.begun:
        bench.talk.show([paper.heading("This run was being typed when the guide was left:")])
        _read_back(bench, kept)
        if bench.talk.yes("Go on with it?", "Enter goes on typing it; n drops it and begins anew."):
            bench.way = kept.way
            return kept
    bench.forget()
    draft = drafts.fresh(plan, bench.way if kept is None else kept.way)
    _introduce(bench, draft)
    return draft


def _of_this_run(bench: Bench, draft: Draft) -> bool:
    """Say whether what was typed and never stored is of the run that is due."""
    if drafts.counts(draft, bench.day.plan):
        return True
    bench.talk.show(
        [paper.heading("This run was typed before the plan was changed from elsewhere:")]
    )
    _read_back(bench, draft)

    def read(answer: str) -> bool:
        if answer.lower() not in ("y", "yes", "n", "no"):
            raise Refusal("bad-value", "Say y or n: a run is easily stored twice.", hint="y, or n")
        return answer.lower().startswith("y")

    return bench.talk.until(
        "Is it of the run that is due now? [y/n]",
        read,
        "y goes on with it as the run that is due; n drops it, and the run is typed anew.",
    )


def overtaken(bench: Bench) -> None:
    """Say what becomes of a run that was typed while the plan was changed from elsewhere."""
    draft, last = bench.typed, bench.day.last
    if draft is None or not draft.begun or drafts.counts(draft, bench.day.plan):
        return
    if last is not None and _alike(draft, last.run):
        bench.talk.say("The run you typed is in the plan: it was recorded from elsewhere.", "bold")
        bench.forget()
    elif bench.day.due != "run":
        bench.talk.say("The run you typed is not in the plan, and no run is due now:", "bold")
        _read_back(bench, draft)
        bench.talk.hint(
            "It is kept in this window and offered when a run is due. Where it should stand in "
            "place of the run recorded, in another window:"
        )
        bench.talk.command(wrong_entries.line(bench.path, None, _tire_options(bench, draft)))


def _alike(draft: Draft, run: Run) -> bool:
    """Say whether the same temperatures were typed, to the accuracy of the file."""
    return all(
        corner in draft.tires
        and all(abs(a - b) < 0.01 for a, b in zip(draft.tires[corner], tire, strict=True))
        for corner, tire in run.tires.items()
    )


def _tire_options(bench: Bench, draft: Draft) -> str:
    return " ".join(
        wrong_entries.tire_option(corner, tire, bench.system)
        for corner, tire in draft.tires.items()
    )


def last_words(bench: Bench) -> None:
    """Show what was typed and is on no disk, before the window is closed."""
    draft = bench.typed
    if draft is None or not draft.begun:
        return
    if bench.on_disk and planfile.is_there(drafts.place(bench.path)):
        return
    bench.talk.say(
        "What was typed of this run is on no disk. Write it down, or give later:", "bold"
    )
    bench.talk.command(f"treadgate record {bench.quoted_path} {_tire_options(bench, draft)}")
    if draft.extras:
        bench.talk.say(f"  and {extras.in_words(draft.extras)}")


def _introduce(bench: Bench, draft: Draft) -> None:
    order = reading_order(bench.day.plan.turns)
    mark = units.degree_mark(bench.system)
    bench.talk.show([paper.heading(f"Due now: {day_view.due_words(bench.day)}")])
    bench.talk.hint(
        f"Read each tire in {mark}, the hardest-worked front tire first: {', '.join(order)}."
    )
    bench.talk.hint(
        f"A line a tire, or all twelve in that order on one line. Order now: "
        f"{_WAY_WORDS[draft.way]}. ? tells what else can be typed."
    )
    if bench.day.stage == "confirm":
        bench.talk.hint("m ends the day here, without the confirming run.")


def _help(bench: Bench, draft: Draft) -> None:
    other = "lr" if draft.way == "imo" else "imo"
    rows = {
        "205 212 209": "the tire asked for; blanks, slashes, dashes or commas between",
        "twelve numbers": "the whole run in reading order",
        "LF 205 212 209": "a tire by name, in any order",
        other: f"change the order: {_WAY_WORDS[_WAYS[other]]}",
        "b": "back one answer, to look at it or type it again; those after it stay",
        "q": "leave; what is typed is kept",
    }
    if draft.back_at is not None:
        rows["Enter"] = "keeps the tire as it is"
    if bench.day.stage == "confirm":
        rows["m"] = "end the day here, without the confirming run"
    if bench.steps:
        rows["amend"] = amend.TOLD
    bench.talk.show([paper.hanging(word, said, 17) for word, said in rows.items()])
    bench.talk.hint("Inner is the edge nearest the car's centreline.")


def _ask_tire(bench: Bench, draft: Draft) -> Draft:
    order = reading_order(bench.day.plan.turns)
    listed = [*draft.tires, *(corner for corner in order if corner not in draft.tires)]
    due = listed[listed.index(draft.back_at) if draft.back_at else len(draft.tires) :]
    at = due[0]
    old = draft.tires.get(at)
    keeps = "" if old is None else f"; Enter = {_as_typed(old, at, draft.way, bench)}"
    prompt = f"{at} ({' '.join(typed_order(at, draft.way))}{keeps})"

    def read(answer: str) -> Draft:
        word = answer.lower()
        if word in _WAYS:
            bench.way = _WAYS[word]
            bench.talk.say(f"Order now: {_WAY_WORDS[bench.way]}.")
            return attrs.evolve(draft, way=bench.way)
        if word in BACK:
            return _back(draft)
        if word == "m" and bench.day.stage == "confirm":
            raise MoveOn
        if amend.asked_for(answer):
            amend.take(bench, answer)
            return draft
        if not word and old is not None:
            return _forward(draft, at)
        typed = tires.read(answer, due, order, draft.way, bench.system)
        changed = _with(draft, typed)
        return _forward(changed, list(typed)[-1]) if at in typed else changed

    return bench.talk.until(prompt, read, lambda: _help(bench, draft))


def _with(draft: Draft, read: dict[Corner, Three]) -> Draft:
    """Put readings into the draft; a tire read anew has not been looked at yet."""
    kept = tuple(corner for corner in draft.kept if corner not in read)
    return attrs.evolve(draft, tires={**draft.tires, **read}, kept=kept)


def _forward(draft: Draft, corner: Corner) -> Draft:
    """Go on after a tire: to the next one typed already where the crew had gone back, else on."""
    typed = list(draft.tires)
    after = typed[typed.index(corner) + 1 :]
    returning = draft.back_at is not None and not draft.finished
    return attrs.evolve(draft, back_at=after[0] if returning and after else None)


def _back(draft: Draft) -> Draft:
    """Go back one answer; what was typed stays."""
    if draft.finished:  # one tire was looked at again, from the question about storing
        return attrs.evolve(draft, back_at=None)
    typed = list(draft.tires)
    at = len(typed) if draft.back_at is None else typed.index(draft.back_at)
    if at == 0:
        raise Refusal(
            NOTHING_BEFORE, "This is the first tire.", hint="three numbers; q leaves the guide"
        )
    return attrs.evolve(draft, back_at=typed[at - 1])


def _ask_extras(bench: Bench, draft: Draft) -> Draft:
    if not draft.extras:
        bench.talk.hint(
            "Anything else? laps 9, times 19.82 19.79, hot 27.5 34 27 32 (LF RF LR RR), cold …, "
            "feel tight entry, flag lockup, track 110, air 78, tread …, note … (? tells all; "
            "Enter goes on)"
        )

    def read(answer: str) -> Draft:
        if not answer:
            return attrs.evolve(draft, finished=True)
        if answer.lower() in BACK:
            return _back(draft)
        if amend.asked_for(answer):
            amend.take(bench, answer)
            return draft
        changed = _added(bench, draft, answer)
        odd = slips.laps(extras.run(changed, bench.system).lap_times)
        if odd and changed.extras.get("lap_times") != draft.extras.get("lap_times"):
            _look_again(bench, f"{odd}; times and all of them again puts it right")
        bench.talk.say(f"  so far: {_in_short(changed) or 'nothing else'}")
        return changed

    def tell() -> None:
        bench.talk.show(
            [paper.hanging(example, said, 27) for example, said in extras.WORDS.values()]
        )
        amends = f"; amend: {amend.TOLD}" if bench.steps else ""
        bench.talk.hint(
            "Several on a line: part them with a semicolon. no hot takes hot out; b goes back to "
            f"the tires{amends}."
        )

    return bench.talk.until("anything else", read, tell)


def _in_short(draft: Draft) -> str:
    return paper.shortened(extras.in_words(draft.extras), "all of it is kept")


def _added(bench: Bench, draft: Draft, line: str) -> Draft:
    """Return the draft with what the line adds; of a line partly wrong, with what is right."""
    try:
        return _with_extras(bench, draft, line)
    except Refusal:
        parts = extras.parts(line)
        if len(parts) < 2:
            raise
    kept = []
    for part in parts:
        try:
            draft = _with_extras(bench, draft, part)
        except Refusal as refusal:
            bench.talk.say(f"Not taken: {part}")
            bench.talk.refuse(refusal)
        else:
            kept.append(part)
    bench.talk.say(f"Kept of this line: {'; '.join(kept) or 'nothing'}")
    return draft


def _with_extras(bench: Bench, draft: Draft, text: str) -> Draft:
    changed = attrs.evolve(draft, extras=extras.add(draft.extras, text, draft.way))
    extras.run(changed, bench.system)
    air = [changed.extras.get(word) == draft.extras.get(word) for word in ("cold", "hot")]
    return attrs.evolve(changed, kept_air=draft.kept_air and all(air))


def _doubt(bench: Bench, draft: Draft) -> Question | None:
    """Return the first reading that looks like a slip and that the crew has not looked at."""
    asked = wrong_entries.questions(bench.day, draft.tires)
    return next((question for question in asked if question.corner not in draft.kept), None)


def _ask_doubt(bench: Bench, draft: Draft, question: Question) -> Draft:
    corner = question.corner
    _look_again(bench, question.says)
    choices = ["k keeps it as typed"]
    if question.instead is not None:
        shown = _as_typed(question.instead, corner, draft.way, bench)
        choices.append(f"s takes {shown}")
    order = " ".join(typed_order(corner, draft.way))
    answers = f"{', '.join(choices)}, or type {corner} again ({order})"
    bench.talk.hint(answers)

    def read(answer: str) -> Draft:
        if answer.lower() in BACK:
            return attrs.evolve(draft, finished=False)
        if answer.lower() == "k":
            return attrs.evolve(draft, kept=(*draft.kept, corner))
        if answer.lower() in ("s", "y", "yes") and question.instead is not None:
            return _with(draft, {corner: question.instead})
        if answer.lower() in ("", "s"):
            raise Refusal("bad-value", "One of these is wanted.", hint=", ".join(choices))
        return _with(draft, _one_tire(answer, corner, draft.way, bench))

    return bench.talk.until(
        f"{corner} k{'/s' if question.instead else ''}/again",
        read,
        f"{answers}; b goes back to anything else about the run",
    )


def _look_again(bench: Bench, says: str) -> None:
    bench.talk.say(f"Look again: {says}{'' if says.endswith('?') else '.'}", "bold")


def _doubted_air(bench: Bench, draft: Draft) -> tuple[AirQuestion, ...]:
    """Return the pressures that look like a slip and that the crew has not looked at."""
    if draft.kept_air or not {"hot", "cold"}.intersection(draft.extras):
        return ()
    return wrong_entries.air_questions(bench.day, extras.run(draft, bench.system))


def _ask_air(bench: Bench, draft: Draft, asked: Sequence[AirQuestion]) -> Draft:
    for question in asked:
        _look_again(bench, question.says)
    instead, when = asked[0].instead, asked[0].when
    choices = ["k keeps them as typed"]
    if instead is not None:
        shown = "; ".join(f"{corner} {psi:g}" for corner, psi in instead.items())
        choices.append(f"s takes {when} {shown}")
    answers = f"{', '.join(choices)}, or type them again ({when} 22 28 21 26, LF RF LR RR)"
    bench.talk.hint(answers)

    def read(answer: str) -> Draft:
        word = answer.lower()
        if word in BACK:
            return attrs.evolve(draft, finished=False)
        if word == "k":
            return attrs.evolve(draft, kept_air=True)
        if word in ("s", "y", "yes") and instead is not None:
            meant = tuple(f"{corner}={psi:g}" for corner, psi in instead.items())
            return attrs.evolve(draft, extras={**draft.extras, when: meant})
        if not word.startswith(("cold ", "hot ", "no ")):
            raise Refusal("bad-value", "One of these is wanted.", hint=answers)
        return _with_extras(bench, draft, answer)

    return bench.talk.until(
        f"pressures k{'/s' if instead else ''}/again",
        read,
        f"{answers}; b goes back to anything else about the run",
    )


def _one_tire(answer: str, corner: Corner, way: Way, bench: Bench) -> dict[Corner, Three]:
    return tires.read(answer, (corner,), (corner,), way, bench.system)


def _as_typed(tire: Three, corner: Corner, way: Way, bench: Bench) -> str:
    across = typed_order(corner, way)
    values = dict(zip(("inner", "middle", "outer"), tire, strict=True))
    return " ".join(car_view.shown(values[strip], bench.system) for strip in across)


def _read_back(bench: Bench, draft: Draft) -> None:
    bench.talk.show([car_view.car(draft.tires, bench.window, bench.system)])
    if draft.extras:
        bench.talk.say(f"  {_in_short(draft)}")


def _store(bench: Bench, run: Run) -> None:
    really = _believed(bench, run)
    bench.store(lambda day, at: moves.record(day, run, at, really))
    bench.forget()
    bench.talk.say(f"Stored as step {bench.steps}.", "bold")


def _believed(bench: Bench, run: Run) -> list[tuple[str, str, float]]:
    """Ask about an answer that is hard to believe; return what the change really was, if said."""
    trial = moves.record(bench.day, run, planfile.now())
    if trial.last is None or trial.last.doubt is None:
        return []
    done = bench.day.past[-1].made
    made = ", ".join(change_words.in_words(change) for change in done)
    example = " ".join(f"{c.knob}:{c.corner}:{c.amount / 2:+g}" for c in done[:1])
    bench.talk.say(f"Hard to believe: {remark_words.doubt(trial.last.doubt, bench.system)}", "bold")
    bench.talk.hint(f"On the car by the plan: {made}.")
    bench.talk.hint(
        "Enter: so it was; or type what was really done, as knob:corner:amount (0 for not at "
        f"all), for example {example}"
    )

    def read(answer: str) -> list[tuple[str, str, float]]:
        if answer.lower() in ("", "y", "yes"):
            return []
        if answer.lower().startswith("n"):
            raise Refusal(
                "bad-value", "Then type what was really done: knob:corner:amount.", hint=example
            )
        try:
            really = changes.parse_all(answer, "")
        except Refusal as refusal:
            raise Refusal(refusal.code, refusal.message, hint=example) from None
        moves.record(bench.day, run, planfile.now(), really)
        return really

    return bench.talk.until(
        "Was that really the change? [Enter/knob:corner:amount]",
        read,
        "The answer of the tires does not fit this change. If it is on the car as the plan has "
        "it, Enter. If something else was done, or by another amount, type that, for example "
        f"{example}; with 0 for the amount if it was not done at all. b goes back to the run.",
        back=bench.drives is None,
    )


def _ask_store(bench: Bench, draft: Draft) -> Draft | Store:
    """Read everything back and ask whether to store it, or what to change."""
    try:
        run = extras.run(draft, bench.system)
    except Refusal as refusal:
        bench.talk.refuse(refusal)
        return attrs.evolve(draft, finished=False)
    _read_back(bench, draft)
    answers = "Enter stores it; LF, RF, LR or RR changes that tire; e adds to it; n drops it"
    bench.talk.hint(answers)

    def read(answer: str) -> Draft | Store:
        word = answer.lower()
        if word in ("", "y", "yes"):
            return Store(run)
        if word in ("n", "no"):
            return _dropped(bench, draft)
        if amend.asked_for(answer):
            amend.take(bench, answer)
            return draft
        if word == "e" or word in BACK:
            return attrs.evolve(draft, finished=False)
        head, named = tires.labelled(answer)
        if named and not head:
            if any(part for _, part in named):
                order = reading_order(bench.day.plan.turns)
                return _with(draft, tires.read(answer, order, order, draft.way, bench.system))
            return attrs.evolve(draft, back_at=named[0][0])
        raise Refusal(
            "bad-value",
            f"{quoted(answer)} is none of the answers here.",
            hint="Enter, LF, RF, LR, RR, e, or n",
        )

    return bench.talk.until(
        "Store this run? [Y/n/tire/e]",
        read,
        f"{answers}; b goes back to anything else; q leaves, and what is typed is kept",
    )


def _dropped(bench: Bench, draft: Draft) -> Draft:
    tell = "y drops all that is typed of this run; Enter goes back to it with nothing lost."
    if not bench.talk.sure("Drop these readings and type the run afresh?", tell):
        return draft
    bench.talk.say("Dropped. Nothing was stored.")
    return drafts.fresh(bench.day.plan, draft.way)
