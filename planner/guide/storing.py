"""The last questions about a run: to store it as read back, and what is hard to believe."""

import attrs

from planner.car import changes
from planner.guide import asides, extras, tires, unstored
from planner.guide import draft as drafts
from planner.guide.draft import Draft
from planner.guide.prompts import BACK
from planner.guide.session import Session
from planner.plan import moves
from planner.run.readings import Run
from planner.storage import planfile
from planner.trade import knobs
from planner.trade.refusals import Refusal, quoted
from planner.words import changes as change_words
from planner.words import remarks as remark_words


def ask(session: Session, draft: Draft) -> Draft | Run:
    """Read everything back and ask whether to store it; return the run to store, or a change."""
    try:
        run = extras.run(draft, session.system)
    except Refusal as refusal:
        session.talk.refuse(refusal)
        return attrs.evolve(draft, finished=False)
    unstored.read_back(session, draft)
    answers = "Enter stores it; LF, RF, LR or RR changes that tire; e adds to it; n drops it"
    session.talk.hint(answers)

    def read(answer: str) -> Draft | Run:
        word = answer.lower()
        if word in ("", "y", "yes"):
            return run
        if word in ("n", "no"):
            return _dropped(session, draft)
        if word == "e" or word in BACK:
            return attrs.evolve(draft, finished=False)
        head, named = tires.labelled(answer)
        if not named or head:
            raise Refusal(
                "bad-value",
                f"{quoted(answer)} is not an answer here.",
                hint="Enter, LF, RF, LR, RR, e, or n",
            )
        if not any(part for _, part in named):
            return attrs.evolve(draft, back_at=named[0][0])
        order = session.order
        return draft.with_tires(tires.read(answer, order, order, draft.way, session.system))

    return asides.or_ask(
        session,
        "Store this run? [Y/n/tire/e]",
        read,
        f"{answers}; b goes back to anything else; q leaves and keeps what is typed",
        notes=False,
    )


def _dropped(session: Session, draft: Draft) -> Draft:
    tell = "y drops all that is typed of this run; Enter goes back to it and loses nothing."
    if not session.talk.sure("Drop these readings and type the run afresh?", tell):
        return draft
    session.talk.say("Dropped. Nothing was stored.")
    return drafts.fresh(session.day.plan, draft.way)


def store(session: Session, run: Run) -> None:
    """Store a run, asking first about an answer of the tires that is hard to believe.

    Raises
    ------
    Back
        The crew goes back to the run.
    """
    really = _believed(session, run)
    session.store(lambda day, at: moves.record(day, run, at, really))
    session.forget()
    session.talk.say(f"Stored as step {session.steps}.", "bold")


def _believed(session: Session, run: Run) -> list[tuple[str, str, float]]:
    """Ask about an answer that is hard to believe; return what the change really was, if said."""
    trial = moves.record(session.day, run, planfile.now())
    if trial.last is None or trial.last.doubt is None:
        return []
    done = session.day.past[-1].made
    made = change_words.listed(done)
    turned = [c for c in done if not c.is_other][:1]
    example = (
        "".join(f"{c.corner} {c.knob} {knobs.as_typed(c.knob, c.amount / 2)}" for c in turned)
        or "RF camber 0.5"
    )
    session.talk.say(
        f"Hard to believe: {remark_words.doubt(trial.last.doubt, session.system)}", "bold"
    )
    session.talk.hint(f"The plan says this is on the car: {made}.")
    session.talk.hint(
        "Enter if that is so; or type what was really done (0 if it was not done), for example "
        f"{example}"
    )

    def read(answer: str) -> list[tuple[str, str, float]]:
        if answer.lower() in ("", "y", "yes"):
            return []
        if answer.lower().startswith("n"):
            raise Refusal("bad-value", "Then type what was really done.", hint=example)
        try:
            really = changes.parse_all(answer, "")
        except Refusal as refusal:
            raise Refusal(refusal.code, refusal.message, hint=example) from None
        moves.record(session.day, run, planfile.now(), really)
        return really

    return session.talk.until(
        "Was that really the change? [Enter, or what it was]",
        read,
        "The tires did not answer as this change should. Enter if it is on the car as "
        "the plan has it. If something else was done, or by another amount, type that, for example "
        f"{example}; type 0 for the amount if it was not done. b goes back to the run.",
        back=session.drives is None,
    )
