"""Anything else about the run: asked until the crew has nothing to add."""

import attrs

from planner.guide import amend, asides, doubts, extras, tires
from planner.guide.draft import Draft
from planner.guide.prompts import BACK
from planner.guide.session import Session
from planner.run import slips
from planner.screen import paper
from planner.trade.refusals import Refusal
from planner.words import slips as slip_words


def ask(session: Session, draft: Draft) -> Draft:
    """Ask for anything else, and return the draft with it."""
    if not draft.extras:
        session.talk.hint(
            f"Anything else? laps 9, times 19.82 19.79, hot 34 32 27 27.5 "
            f"({' '.join(session.order)}), cold …, "
            "feel loose entry, flag lockup, track 110, air 78, set 2 new, tread …, note … "
            "(? shows all; Enter goes on)"
        )

    def read(answer: str) -> Draft:
        if not answer:
            return attrs.evolve(draft, finished=True)
        if answer.lower() in BACK:
            return draft.back()
        if tires.is_of_tires(answer):  # found meanwhile, or read wrong
            session.talk.say(f"  taken: {answer}")
            order = session.order
            return draft.with_tires(tires.read(answer, order, order, draft.way, session.system))
        changed = _not_over(session, draft, _added(session, draft, answer))
        odd = slips.laps(extras.run(changed, session.system).lap_times)
        if odd is not None and changed.extras.get("lap_times") != draft.extras.get("lap_times"):
            says = f"{slip_words.of_laps(odd)} To correct it type times and all of them again."
            doubts.look_again(session, says)
        session.talk.say(f"  so far: {extras.in_short(changed.extras) or 'nothing else'}")
        return changed

    def tell() -> None:
        session.talk.show(
            paper.hanging(example, said, 30) for example, said in extras.WORDS.values()
        )
        amends = f"; amend: {amend.TOLD}" if session.steps else ""
        session.talk.hint(
            "Several on a line: put a semicolon between. no hot removes hot; b goes back to the "
            f"tires{amends}."
        )

    return asides.or_ask(session, "anything else", read, tell, notes=False)


def _not_over(session: Session, old: Draft, new: Draft) -> Draft:
    """Ask before what was typed earlier is replaced; return the draft that is meant."""
    was, now = extras.replaced(old.extras, new.extras)
    if not was:
        return new
    session.talk.say(f"Typed already: {extras.in_words(was)}.")
    asks = f"Put {extras.in_words(now)} in its place?"
    if session.talk.yes(asks, "Enter replaces it; n keeps what was typed first."):
        return new
    return attrs.evolve(new, extras=extras.restored(new.extras, was))


def _added(session: Session, draft: Draft, line: str) -> Draft:
    """Return the draft with what the line adds; of a line partly wrong, with what is right."""
    try:
        return extras.added(draft, line, session.order, session.system)
    except Refusal:
        parts = extras.parts(line)
        if len(parts) < 2:
            raise
    kept = []
    for part in parts:
        try:
            draft = extras.added(draft, part, session.order, session.system)
        except Refusal as refusal:
            session.talk.say(f"Not taken: {part}")
            session.talk.refuse(refusal)
        else:
            kept.append(part)
    session.talk.say(f"Kept from this line: {'; '.join(kept) or 'nothing'}")
    return draft
