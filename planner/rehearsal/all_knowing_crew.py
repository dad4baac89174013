"""An all-knowing crew: it sees the true figures and sizes every change on the simulated car.

It keeps to the tuning order, whole steps, the limits and the most in one move, as everybody does.
Its runs are therefore the fewest that a day can fairly be expected to take.
"""

from collections.abc import Iterator, Mapping, Sequence

import attrs

from planner.car import changes as changing
from planner.car.changes import Change, Setting
from planner.car.limits import Limits
from planner.rehearsal.laps import Conditions
from planner.rehearsal.out_of_band import excesses, off_middle
from planner.rehearsal.world import World
from planner.rulebook.rules import TUNING_ORDER, Adjustment, PatternRule, Rulebook, TuningStage
from planner.trade.corners import CORNERS
from planner.trade.figures import Figures
from planner.trade.refusals import Refusal

MOST_CHANGES = 30
BUNDLING: tuple[TuningStage, ...] = ("camber", "pressure")

Setup = Mapping[Setting, float]
Bundle = tuple[Change, ...]


@attrs.frozen(eq=False)
class Knowing:
    """How the day goes for a crew that knows everything.

    Attributes
    ----------
    runs : driven, the confirming one included.
    made : changes, in order; a bundle is one of them.
    excess : worst excess over a band that is left [degF].
    """

    runs: int
    made: tuple[Bundle, ...]
    excess: float


def day(world: World, begun: Setup, book: Rulebook, limits: Limits) -> Knowing:
    """Take a car through the day, going by the truth alone.

    Parameters
    ----------
    world : the physics.
    begun : what is on the car in the morning.
    book, limits : rules and limits, which bind this crew too.
    """
    crew = _Crew(world, book, limits)
    settings, at = dict(begun), world.fresh()
    made: list[Bundle] = []
    runs = confirmed = 0
    worst = 0.0
    while confirmed < 2:
        driven = world.driven([settings], at)
        out = excesses(world.as_read(driven, at)[0], book)
        at = world.after_run(driven, at)
        runs += 1
        worst = max(out.values(), default=0.0)
        confirmed = 0 if out else confirmed + 1
        if not out:
            continue
        best = crew.best(settings, at, out) if len(made) < MOST_CHANGES else ()
        if not best:
            break
        made.append(best)
        settings |= {
            change.setting: changing.tidy(settings[change.setting] + change.amount)
            for change in best
        }
        at = world.after_change(at)
    return Knowing(runs, tuple(made), worst)


@attrs.frozen(eq=False)
class _Crew:
    """What the crew sees, which is the physics, and what binds it: rules and limits."""

    world: World
    book: Rulebook
    limits: Limits

    def best(self, settings: Setup, at: Conditions, out: Mapping[str, float]) -> Bundle:
        """Return the best change in the earliest stage that shows a fault; empty for none."""
        rules = {key: self.book.rule(key.partition(":")[0]) for key in out}
        stage = next(s for s in TUNING_ORDER if any(rule.stage == s for rule in rules.values()))
        shown = {key: rule for key, rule in rules.items() if rule.stage == stage}
        offers = self._offers(shown, stage)
        singles = list(
            dict.fromkeys(c for offer in offers for c in self._amounts(settings, *offer))
        )
        setups = [{**settings, c.setting: settings[c.setting] + c.amount} for c in singles]
        found = {
            change: figures
            for change, figures in zip(singles, self._figures(setups, at), strict=True)
            if figures is not None
        }
        if not found:
            return ()
        (here,) = self.world.figures([settings], at)
        if stage in BUNDLING and (bundle := self._bundle(found, here, stage)):
            return bundle
        for stages in (TUNING_ORDER, (stage,)):  # the whole car, or at least the stage
            scores = {change: self._score(figures, stages) for change, figures in found.items()}
            first = min(scores, key=lambda change: scores[change])
            if scores[first] < self._score(here, stages):
                return (first,)
        return ()

    def _offers(
        self, shown: Mapping[str, PatternRule], stage: TuningStage
    ) -> Iterator[tuple[Adjustment, str, str | None]]:
        """Yield every adjustment the rules offer here: entry, place, direction."""
        for key, rule in shown.items():
            for offer in (*rule.offers, *rule.next_cause):
                entry = self.book.adjustment[offer.use]
                if entry.corner != "same":
                    yield entry, entry.corner, offer.direction
                elif stage in BUNDLING:  # who knows everything mends all corners in one go
                    for corner in CORNERS:
                        yield entry, corner, None
                else:
                    yield entry, key.partition(":")[2], offer.direction

    def _amounts(
        self, settings: Setup, entry: Adjustment, place: str, direction: str | None
    ) -> Iterator[Change]:
        """Yield every amount in whole steps, up to the most in one move and within the limits."""
        room = self.limits.room(entry.knob, place)
        if room.fixed:
            return
        step = entry.step_on(room)
        now = settings[entry.knob, place]
        for sign in {"+": (1.0,), "-": (-1.0,), None: (1.0, -1.0)}[direction]:
            for number in range(1, int(entry.most_on(room) / step + 1e-9) + 1):
                amount = changing.tidy(sign * number * step)
                allowed, _ = changing.within(entry.knob, amount, now, room, step)
                if allowed == amount:
                    yield Change(entry.knob, place, amount)

    def _figures(self, setups: Sequence[Setup], at: Conditions) -> list[Figures | None]:
        """Return the figures of each setup; None for one that cannot be."""
        try:
            return list(self.world.figures(setups, at))
        except Refusal:
            if len(setups) == 1:
                return [None]
            return [found for setup in setups for found in self._figures([setup], at)]

    def _bundle(self, found: Mapping[Change, Figures], here: Figures, stage: TuningStage) -> Bundle:
        """Return, for every corner, the change that brings its own figure nearest the aim."""
        rule = next(r for r in self.book.pattern if r.stage == stage and r.each == "corner")

        def off(figures: Figures, corner: str) -> float:
            return abs(figures[f"{rule.figures[0]}.{corner}"] - rule.aim)

        best: dict[str, tuple[float, Change]] = {}
        for change, figures in found.items():
            corner = change.corner
            if corner not in CORNERS:
                continue
            least = best[corner][0] if corner in best else off(here, corner)
            if off(figures, corner) < least:
                best[corner] = (off(figures, corner), change)
        return tuple(change for _, change in best.values())

    def _score(self, figures: Figures, stages: Sequence[TuningStage]) -> tuple[float, float]:
        """Return what is out of band in sum [degF], and then how far all figures are from mid-band.

        The second part goes by the square of the distance over the half width of each band.
        """
        out = sum(
            excess
            for key, excess in excesses(figures, self.book).items()
            if self.book.rule(key.partition(":")[0]).stage in stages
        )
        far = sum(off**2 for off in off_middle(figures, self.book).values())
        return round(out, 6), far
