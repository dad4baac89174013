"""A candidate: one way to go on, as keys and numbers."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

import attrs

from planner.advice.reasons import HeldBack, Reason
from planner.car.basis import Basis
from planner.car.changes import Change, Setting
from planner.rulebook import aims
from planner.rulebook.aims import Aim
from planner.rulebook.rules import Rulebook
from planner.trade.estimate import Estimate

Kind = Literal["single", "bundle", "put-back", "own", "even-wear"]

MOST_TOLD = 3  # figures that a change of the crew's own moves beside those it aims at


def first_id(keys: Sequence[str]) -> str:
    """Return the id of the first of some patterns, ``""`` of none."""
    return keys[0].partition(":")[0] if keys else ""


@attrs.frozen
class Candidate:
    """One way to go on, ready to be chosen.

    Attributes
    ----------
    id : what to type to choose it.
    changes : the stage's own changes, then those that ride along.
    answers : patterns that the own changes aim at, as ``id:corner``.
    pattern : id of the one it is offered for; the first of them where nothing else is said.
    trims_answer : and each riding trim, in the order of `changes`.
    uses : the adjustments of the rules that size and direction come from.
    reasons : why it is offered, and is of this size.
    basis : what the size rests on, of each own change.
    resized : the crew gave another amount.
    predicted : figures after the change.
    chance : that the stage then shows nothing out of band; None where not computed.
    spoils : how much the chance falls that the figures of other stages, now in band, stay there.
    minutes : working time.
    cautions : which cautions go with it.
    puts_back : the step whose change it undoes.
    """

    id: str
    changes: tuple[Change, ...]
    kind: Kind = "single"
    answers: tuple[str, ...] = ()
    pattern: str = attrs.field(
        default=attrs.Factory(lambda self: first_id(self.answers), takes_self=True)
    )
    trims_answer: tuple[str, ...] = ()
    uses: tuple[str, ...] = ()
    reasons: tuple[Reason, ...] = ()
    basis: tuple[Basis, ...] = (Basis(),)
    resized: bool = False
    predicted: Mapping[str, Estimate] = attrs.field(factory=dict)
    chance: float | None = None
    spoils: float | None = None
    minutes: float | None = None
    cautions: tuple[str, ...] = ()
    puts_back: int | None = None

    @property
    def is_own(self) -> bool:
        """Whether it is a change of the crew's own."""
        return self.kind == "own"

    @property
    def trims(self) -> frozenset[Setting]:
        """What rides along: the last changes, one for each pattern that trims answer."""
        ride = 0 if self.kind == "put-back" else len(self.trims_answer)
        return frozenset(change.setting for change in self.changes[len(self.changes) - ride :])

    @property
    def own_changes(self) -> tuple[Change, ...]:
        """The changes without the riding trims."""
        return tuple(change for change in self.changes if not change.trim)

    def own_aims(self, book: Rulebook) -> tuple[Aim, ...]:
        """Return what the own changes aim at, as far as the rules have it."""
        return aims.of_keys(self.answers, book)

    def aims(self, book: Rulebook) -> tuple[Aim, ...]:
        """Return all aims, those of the riding trims last."""
        return (*self.own_aims(book), *aims.of_keys(self.trims_answer, book, trim=True))

    def trim_aims(self, book: Rulebook) -> dict[Setting, Aim]:
        """Return what each riding trim aims at."""
        ride = [change.setting for change in self.changes if change.trim]
        found = (aims.of_key(key, book, trim=True) for key in self.trims_answer)
        pairs = zip(ride, found, strict=False)
        return {setting: aim for setting, aim in pairs if aim is not None}

    def aimed(self, book: Rulebook) -> tuple[str, ...]:
        """Return the figures aimed at, those of the riding trims last."""
        return figures_of(self.aims(book))

    def foretold(self, book: Rulebook) -> tuple[str, ...]:
        """Return the figures that say what is to be expected of it, riding trims aside.

        They are those it aims at, and of a change of the crew's own those that it moves most too.
        """
        aimed = figures_of(self.own_aims(book))
        if not self.is_own:
            # By now the car may be judged by a figure of its own.
            told = (name for name in self.predicted if not name.startswith(("average.", "wear.")))
            return aimed if not {*aimed}.isdisjoint(self.predicted) else tuple(told)
        known = [name for name in self.predicted if not name.startswith("average.")]
        return (*aimed, *[name for name in known if name not in aimed][:MOST_TOLD])


@attrs.frozen
class Table:
    """What lies on the table: the candidates, and what is not offered."""

    candidates: tuple[Candidate, ...] = ()
    held_back: tuple[HeldBack, ...] = ()


def figures_of(aimed: Iterable[Aim]) -> tuple[str, ...]:
    """Return the figures of some aims, each once."""
    return tuple(dict.fromkeys(name for aim in aimed for name in aim.figures))


def numbered(found: Iterable[Candidate]) -> tuple[Candidate, ...]:
    """Give the candidates the ids they are chosen by, leaving out repeats of the same change."""
    unique: dict[tuple[object, ...], Candidate] = {}
    for candidate in found:
        key = tuple((change.setting, change.amount) for change in candidate.changes)
        unique.setdefault(key, candidate)
    return tuple(attrs.evolve(c, id=str(number)) for number, c in enumerate(unique.values(), 1))
