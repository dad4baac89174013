"""The rules file: each temperature pattern, and the adjustments it calls for.

Reading a rules file makes a `Rulebook`, or a list of everything in the file that cannot be used.
Nothing in a rules file is ever executed; texts take ``$value``-style placeholders only.
"""

import contextlib
import hashlib
import os
import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from pathlib import Path
from string import Template
from typing import Any, Literal

import attrs

from planner.files import file_name, records, toml_files
from planner.run.readings import Feel, Phase
from planner.trade import knobs
from planner.trade.cautions import CAUTIONS
from planner.trade.corners import CORNERS, Turns, mirrored
from planner.trade.estimate import Estimate
from planner.trade.figures import PER_CORNER, WHOLE_CAR, Noise, terms
from planner.trade.knobs import Limit
from planner.trade.numbers import LAPS
from planner.trade.refusals import Refusal, Unusable, quoted

FORMAT = 1
BUNDLED = ("paved-oval", "road-course")

# The tuning order: one fault masks another, so they are mended in this order.
TuningStage = Literal["camber", "pressure", "cross", "balance", "corners"]
TUNING_ORDER: tuple[TuningStage, ...] = ("camber", "pressure", "cross", "balance", "corners")

# What rules may hold. Ours hold a tenth of it; far beyond, every run would take minutes to judge.
MOST_PATTERNS = 60
MOST_ADJUSTMENTS = 60
MOST_OFFERS = 12  # of one pattern
MOST_IN_STAGE = 40  # offers of all patterns of a stage: each of them is sized at every corner
MOST_KEYS = 100  # at the top
MOST_STEPS = 100  # smallest steps in the most of one move: each of them is tried out
MOST_TEXT = 2000  # letters of a text
_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,59}")

Each = Literal["corner", "hottest", "coldest", "car"]
Tread = Literal["inner", "outer", "middle", "edges"]
PLACEHOLDERS = {"value", "size", "corner", "average", "limit", "first", "second"}

# Numbers far beyond any tire or car, so that a slip is not taken for a rule that never shows.
_DEGREES = (-1000.0, 1000.0)  # degF: bands, aims, working range
_ANSWERS = (-10_000.0, 10_000.0)  # degF per unit of a knob
_WEAR = (0.0, 1000.0)


@attrs.frozen
class Adjustment:
    """One knob as the rules know it.

    Attributes
    ----------
    knob, corner : what is changed and where; ``same`` is the corner the pattern was found at.
    step, most : smallest change, and the most in one move, in the knob's unit.
    minutes : working time.
    effect : per unit of the knob, on the base figures (``split.same``, ``average.RF``).
    source : where direction and size come from.
    caution : which caution goes with the work.
    """

    knob: str
    corner: str
    step: float
    most: float
    minutes: float
    effect: Mapping[str, Estimate]
    source: str
    caution: str = ""

    def effect_at(self, corner: str) -> dict[str, Estimate]:
        """Return the effects with ``same`` replaced by the corner."""
        return {name.replace(".same", f".{corner}"): effect for name, effect in self.effect.items()}

    def step_on(self, limit: Limit | None) -> float:
        """Return the smallest change: that of the car file where it says one, or of the rules."""
        return self.step if limit is None or limit.step is None else limit.step

    def most_on(self, limit: Limit | None) -> float:
        """Return the most in one move, which is never less than a step."""
        return max(self.most, self.step_on(limit))


Way = Literal["+", "-"]  # a knob is turned


@attrs.frozen
class Offer:
    """An adjustment that a pattern calls for; see the rules file for the keys."""

    use: str
    direction: Way | None = None
    when: Phase | None = None


@attrs.frozen
class PatternRule:
    """How a pattern is recognised, what it says, and what it calls for."""

    id: str
    each: Each
    figures: tuple[str, ...]
    says: str
    source: str
    means: str = ""
    stage: TuningStage | None = None
    above: float | None = None
    below: float | None = None
    window: Literal["above", "below"] | None = None
    disagree: tuple[float, float] | None = None
    aim: float = 0.0
    alike: float | None = None
    tread: Tread | None = None
    wears: Literal["more", "less"] | None = None
    feel: Feel | None = None
    offers: tuple[Offer, ...] = ()
    after_moves: int | None = None
    next_cause: tuple[Offer, ...] = ()


@attrs.frozen
class WearRule:
    """When worn tread says something, and what cross weight does to wear (percent per percent)."""

    edge: float = 1.25
    uneven: float = 1.5
    least: float = 0.5
    least_percent: float = 5.0
    per_cross: Estimate | None = None


@attrs.frozen
class Rulebook:
    """A rules file, read and checked."""

    id: str
    title: str
    turns: tuple[Turns, ...]
    laps: int
    window: tuple[float, float]
    source: str
    adjustment: Mapping[str, Adjustment]
    pattern: tuple[PatternRule, ...]
    noise: Noise = Noise()
    wear: WearRule = WearRule()
    format: int = FORMAT
    fingerprint: str = ""

    def rule(self, pattern_id: str) -> PatternRule:
        """Return the rule of a pattern."""
        return next(rule for rule in self.pattern if rule.id == pattern_id)

    def knows(self, pattern_id: str, stage: TuningStage | None) -> bool:
        """Say whether the rules (still) have a stored pattern; information always stands."""
        return stage is None or any(rule.id == pattern_id for rule in self.pattern)

    def bands(self, figure: str) -> tuple[float | None, float | None]:
        """Return the band of a figure: (lowest, highest) that shows no pattern, None where open."""
        low = high = None
        for rule in self.pattern:
            if figure.partition(".")[0] in rule.figures and rule.stage is not None:
                low = low if rule.below is None else rule.below
                high = high if rule.above is None else rule.above
        return low, high

    def figures_of(
        self, stages: Iterable[TuningStage], *, most_figures: int = 99
    ) -> tuple[str, ...]:
        """Return the full names of all figures that can hold one of the stages.

        Parameters
        ----------
        most_figures : leave out patterns that look at more figures than this at once.
        """
        wanted = set(stages)
        names = [
            name
            for rule in self.pattern
            if rule.stage in wanted and len(rule.figures) <= most_figures
            for corner in (CORNERS if rule.each != "car" else ("",))
            for name in figure_names(rule, corner)
        ]
        return tuple(dict.fromkeys(names))

    def adjustments_of(self, knob: str, place: str) -> list[Adjustment]:
        """Return the adjustments that turn a knob at a place, most specific first."""
        exact = [a for a in self.adjustment.values() if (a.knob, a.corner) == (knob, place)]
        same = [
            a
            for a in self.adjustment.values()
            if (a.knob, a.corner) == (knob, "same") and place in CORNERS
        ]
        return exact + same

    def for_turns(self, turns: Turns) -> "Rulebook":
        """Return the rules for a track that turns this way; a right turn mirrors everything."""
        if turns != "right":
            return self
        adjustments = {name: _mirrored(entry) for name, entry in self.adjustment.items()}
        flips = {
            name
            for name, entry in self.adjustment.items()
            if entry.corner in knobs.KNOBS[entry.knob].mirrors
        }
        patterns = tuple(
            attrs.evolve(
                rule,
                offers=_flipped(rule.offers, flips),
                next_cause=_flipped(rule.next_cause, flips),
            )
            for rule in self.pattern
        )
        return attrs.evolve(self, adjustment=adjustments, pattern=patterns)


def _mirrored(entry: Adjustment) -> Adjustment:
    sign = -1.0 if entry.corner in knobs.KNOBS[entry.knob].mirrors else 1.0
    effects = {}
    for name, effect in entry.effect.items():
        kind, _, corner = name.partition(".")
        effects[f"{kind}.{mirrored(corner)}"] = Estimate(sign * effect.mean, effect.sd)
    return attrs.evolve(entry, corner=mirrored(entry.corner), effect=effects)


def _flipped(offers: tuple[Offer, ...], flips: set[str]) -> tuple[Offer, ...]:
    opposite: dict[str | None, Way | None] = {"+": "-", "-": "+", None: None}
    return tuple(
        attrs.evolve(offer, direction=opposite[offer.direction]) if offer.use in flips else offer
        for offer in offers
    )


def rules_folder() -> Path:
    """Return the folder of the rules that come with the program."""
    program = Path(__file__).parents[1]
    inside = program / "rules"  # in an installed wheel
    return inside if inside.is_dir() else program.parent / "rules"


def find(id_or_file: str, beside: Path | None = None, where: str = "--rules") -> Path:
    """Return the path of a rules file: the id of one of ours, or a file of the crew's own.

    Raises
    ------
    Refusal
        There is neither.
    """
    if id_or_file in BUNDLED:
        return rules_folder() / f"{id_or_file}.toml"
    path = Path(id_or_file)
    if beside is not None and os.name == "nt" and file_name.far_away(id_or_file, str(beside)):
        path = Path()  # a plan that came from elsewhere opens no connection
    with contextlib.suppress(OSError):  # no such name can be, or it is out of reach
        if beside is not None and not path.is_absolute() and not path.exists():
            path = beside / path
        if path.is_file():
            return path
    raise Refusal(
        "no-rules",
        f"There are no rules called {quoted(id_or_file, 80)}, and no file of that name.",
        where=where,
        hint=f"one of {', '.join(BUNDLED)}, or the path of a rules file",
    )


def read(path: Path) -> dict[str, Any]:
    """Read a rules file into plain tables, unchecked.

    Raises
    ------
    Unusable
        It cannot be read, or is not TOML.
    """
    try:
        return toml_files.read_toml(path, "rules")
    except Unusable as error:
        hint = error.hint or f"one of {', '.join(BUNDLED)}, or the path of a rules file"
        raise Unusable(error.code, error.message, where=error.where, hint=hint) from None


def load(path: Path) -> Rulebook:
    """Read and check a rules file.

    Raises
    ------
    Unusable
        With one line for every mistake in the file.
    """
    data = read(path)
    problems, book = examine(data)
    if book is None:
        raise Unusable(
            "bad-rules",
            f"The rules file has {len(problems)} mistake{'s' * (len(problems) > 1)}:\n"
            + "\n".join(problems),
            where=str(path),
            hint=f"treadgate rules check {path}",
        )
    return attrs.evolve(book, fingerprint=fingerprint(data))


def fingerprint(data: Mapping[str, object]) -> str:
    """Return a fingerprint of what a rules file says, whatever its comments and line ends."""
    return "sha256:" + hashlib.sha256(repr(_ordered(data)).encode()).hexdigest()[:24]


def _ordered(value: object) -> object:
    if isinstance(value, Mapping):
        return sorted((key, _ordered(item)) for key, item in value.items())
    if isinstance(value, list):
        return [_ordered(item) for item in value]
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


def examine(data: Mapping[str, object]) -> tuple[list[str], Rulebook | None]:
    """Return all mistakes of a rules file, each with its key's path, and the rules if none."""
    if data.get("format") not in (None, FORMAT):
        return [f"format: this program reads format {FORMAT} only"], None
    too_many = _too_many(data)
    if too_many:
        return too_many, None
    told = {key: value for key, value in data.items() if key != "fingerprint"}
    problems, book = records.problems_or_record(told, Rulebook, records.plain())
    if "fingerprint" in data:
        problems.append("fingerprint: no such key")
    if book is not None:
        if not book.pattern:
            problems.append("pattern: at least one is wanted")
        problems = problems + _checked(book, range(1, len(book.pattern) + 1), book.adjustment)
    else:
        problems = problems + _checked(*_as_far_as_it_goes(told))
    return problems, None if problems else book


def _too_many(data: Mapping[str, Any]) -> list[str]:
    """Return where there is more of something than is looked at one by one."""
    counts: list[tuple[str, object, int]] = [
        ("adjustment", data.get("adjustment"), MOST_ADJUSTMENTS),
        ("pattern", data.get("pattern"), MOST_PATTERNS),
    ]
    patterns = data.get("pattern")
    for number, each in enumerate(
        patterns[:MOST_PATTERNS] if isinstance(patterns, list) else (), 1
    ):
        for key in ("figures", "offers", "next_cause"):
            if isinstance(each, Mapping):
                counts.append((f"pattern[{number}].{key}", each.get(key), MOST_OFFERS))
    if len(data) > MOST_KEYS:
        return [f"{len(data)} keys stand at the top; no rules have so many"]
    return [
        f"{path}: {len(held)} of them; at most {most} are taken"
        for path, held, most in counts
        if isinstance(held, list | Mapping) and len(held) > most
    ]


def _as_far_as_it_goes(
    data: Mapping[str, Any],
) -> tuple[Rulebook, Sequence[int], Collection[str]]:
    """Return what of a broken rules file has the right shape, to be checked all the same.

    Returns
    -------
    tuple
        The rules without their broken parts, the numbers that the patterns left have in the file,
        and the names of all its adjustments, broken ones too.
    """
    bare: dict[str, Any] = {
        "id": "x",
        "title": "-",
        "turns": ["left"],
        "laps": 10,
        "window": [0.0, 1.0],
        "source": "-",
        "adjustment": {},
        "pattern": [],
    }

    def sound(**part: Any) -> bool:
        return (
            records.problems_or_record({**bare, **part}, Rulebook, records.plain())[1] is not None
        )

    entries, patterns = data.get("adjustment"), data.get("pattern")
    entries = entries if isinstance(entries, Mapping) else {}
    patterns = patterns if isinstance(patterns, list) else []
    numbers = [n for n, each in enumerate(patterns, 1) if sound(pattern=[each])]
    kept = {
        key: value
        for key, value in data.items()
        if key not in ("adjustment", "pattern") and sound(**{key: value})
    }
    kept["adjustment"] = {n: each for n, each in entries.items() if sound(adjustment={n: each})}
    kept["pattern"] = [patterns[number - 1] for number in numbers]
    _, book = records.problems_or_record({**bare, **kept}, Rulebook, records.plain())
    assert book is not None
    return book, numbers, entries.keys()


def _checked(book: Rulebook, numbers: Sequence[int], named: Collection[str]) -> list[str]:
    """Return what is wrong in rules whose keys and types are right.

    Parameters
    ----------
    numbers : the number of each pattern in its file.
    named : every adjustment the file names, whether or not it is among the rules.
    """
    found: list[str] = []
    found.extend(_unfit_texts(book, numbers))
    found.extend(_unfit_numbers(book))
    if not LAPS.holds(book.laps):
        found.append(f"laps: from {LAPS.low} to {LAPS.high} laps are wanted")
    if not book.window[0] < book.window[1]:
        found.append("window: the lower temperature comes first")
    if not book.turns:
        found.append("turns: at least one of left, right and both is wanted")
    if book.wear.edge < 1 or book.wear.uneven < 1:
        found.append("wear: edge and uneven must not be below 1")
    if book.wear.least <= 0 or book.wear.least_percent <= 0:
        found.append("wear: least and least_percent must be above 0")
    if book.noise.reading <= 0 or book.noise.run < 0:
        found.append("noise: reading must be above 0 and run not below 0")
    for name, entry in book.adjustment.items():
        found.extend(f"adjustment.{name}.{text}" for text in _adjustment_mistakes(entry))
    for stage in TUNING_ORDER:
        rules = [rule for rule in book.pattern if rule.stage == stage]
        offers = sum(len(rule.offers) + len(rule.next_cause) for rule in rules)
        if offers > MOST_IN_STAGE:
            found.append(
                f"pattern: {offers} offers in the {stage} stage; at most {MOST_IN_STAGE} are taken"
            )
    seen: set[str] = set()
    for number, rule in zip(numbers, book.pattern, strict=True):
        at = f"pattern[{number}]"
        if rule.id in seen:
            found.append(f"{at}.id: {rule.id} is there twice")
        seen.add(rule.id)
        found.extend(f"{at}.{text}" for text in _pattern_mistakes(rule, book, named))
    return found


def _unfit_numbers(book: Rulebook) -> list[str]:
    """Return the numbers beside adjustments and patterns that are far beyond any tire."""
    found = []
    for number, edge in enumerate(book.window, 1):
        found.extend(_beyond(f"window[{number}]", edge, _DEGREES))
    for key in ("reading", "run"):
        found.extend(_beyond(f"noise.{key}", getattr(book.noise, key), (0.0, 100.0)))
    for key in ("edge", "uneven", "least", "least_percent"):
        found.extend(_beyond(f"wear.{key}", getattr(book.wear, key), _WEAR))
    if book.wear.per_cross is not None:
        found.extend(_beyond("wear.per_cross.mean", book.wear.per_cross.mean, (-1000.0, 1000.0)))
        found.extend(_beyond("wear.per_cross.sd", book.wear.per_cross.sd, _WEAR))
    return found


def _beyond(path: str, value: float | None, bounds: tuple[float, float]) -> list[str]:
    low, high = bounds
    if value is None or low <= value <= high:
        return []
    return [f"{path}: {value:g} cannot be; it must lie between {low:g} and {high:g}"]


def _unfit_texts(book: Rulebook, numbers: Sequence[int]) -> list[str]:
    """Return the names that are none, and the texts that are too long to be shown."""
    names = [("id", book.id)]
    names += [(f"adjustment.{name[:60]}", name) for name in book.adjustment]
    patterns = list(zip(numbers, book.pattern, strict=True))
    names += [(f"pattern[{number}].id", rule.id) for number, rule in patterns]
    found = [
        f"{path}: {name[:60]!r} is no name; letters a to z, digits, dots, - and _ make one, "
        "at most 60"
        for path, name in names
        if not _ID.fullmatch(name)
    ]
    texts = [("title", book.title), ("source", book.source)]
    texts += [(f"adjustment.{name}.source", each.source) for name, each in book.adjustment.items()]
    for number, rule in patterns:
        texts += [
            (f"pattern[{number}].{key}", getattr(rule, key)) for key in ("says", "means", "source")
        ]
    found += [
        f"{path}: {len(text)} letters; at most {MOST_TEXT} are shown"
        for path, text in texts
        if len(text) > MOST_TEXT
    ]
    return found


def _adjustment_mistakes(entry: Adjustment) -> list[str]:
    found = []
    if entry.knob not in knobs.KNOBS:
        return [f"knob: unknown knob {entry.knob!r}; use one of {', '.join(knobs.KNOBS)}"]
    places = knobs.KNOBS[entry.knob].places
    at_corners = set(places) <= set(CORNERS)
    if entry.corner not in places and not (entry.corner == "same" and at_corners):
        wanted = ("same", *places) if at_corners else places
        found.append(f"corner: {entry.corner!r} has no {entry.knob}; {', '.join(wanted)} have")
    if entry.step <= 0:
        found.append("step: must be above 0")
    largest = knobs.KNOBS[entry.knob].largest
    if entry.most < entry.step:
        found.append("most: must not be below step")
    elif entry.most > largest:
        found.append(f"most: at most {largest:g} {knobs.KNOBS[entry.knob].unit} in one move")
    elif entry.step > 0 and entry.most > MOST_STEPS * entry.step:
        found.append(f"step: too small; at most {MOST_STEPS} steps may make the most of one move")
    if not 0 <= entry.minutes <= 1000:
        found.append("minutes: must lie between 0 and 1000")
    if entry.caution and entry.caution not in CAUTIONS:
        found.append(
            f"caution: unknown caution {entry.caution!r}; use one of {', '.join(CAUTIONS)}"
        )
    if not entry.effect:
        found.append("effect: at least one figure is wanted")
    for name, effect in entry.effect.items():
        kind, _, corner = name.partition(".")
        places_of_figure = (*CORNERS, "same") if entry.corner == "same" else CORNERS
        if kind not in ("average", "split", "crown") or corner not in places_of_figure:
            found.append(
                f"effect.{name}: no base figure; write average, split or crown, then a corner"
            )
        if effect.sd < 0:
            found.append(f"effect.{name}.sd: must not be below 0")
        found.extend(_beyond(f"effect.{name}.mean", effect.mean, _ANSWERS))
        found.extend(_beyond(f"effect.{name}.sd", effect.sd, _ANSWERS))
    return found


def _pattern_mistakes(rule: PatternRule, book: Rulebook, named: Collection[str]) -> list[str]:
    found = []
    allowed = WHOLE_CAR if rule.each == "car" else PER_CORNER
    for number, name in enumerate(rule.figures, 1):
        if name not in allowed:
            found.append(
                f"figures[{number}]: {name!r} is none here; there are {', '.join(allowed)}"
            )
    if not rule.figures:
        found.append("figures: at least one is wanted")
    kinds = (rule.above, rule.below, rule.window, rule.disagree)
    if sum(kind is not None for kind in kinds) != 1:
        found.append("above: exactly one of above, below, window and disagree is wanted")
    if rule.disagree is not None and (
        len(rule.figures) != 2 or rule.disagree[0] >= rule.disagree[1]
    ):
        found.append("disagree: two figures and a band [low, high] are wanted")
    if rule.window is not None and (rule.figures != ("average",) or rule.stage is not None):
        found.append("window: goes with the figure average, and holds no stage")
    if rule.stage is None and (rule.offers or rule.next_cause):
        found.append("offers: a pattern without a stage is information and calls for nothing")
    if rule.stage is not None and not rule.offers:
        found.append("offers: a pattern with a stage needs at least one")
    if rule.after_moves is not None and not (1 <= rule.after_moves <= 100 and rule.next_cause):
        found.append("after_moves: from 1 to 100, together with next_cause")
    numbers = {"above": rule.above, "below": rule.below, "aim": rule.aim, "alike": rule.alike}
    numbers |= dict(zip(("disagree[1]", "disagree[2]"), rule.disagree or (), strict=False))
    for key, value in numbers.items():
        found.extend(_beyond(key, value, _DEGREES))
    edge = rule.above if rule.above is not None else rule.below
    if edge is not None and (rule.aim > edge if rule.above is not None else rule.aim < edge):
        found.append(f"aim: {rule.aim:g} is not in band, which ends at {edge:g}")
    if rule.alike is not None and rule.figures != ("front_split",):
        found.append("alike: goes with the figure front_split only")
    names = Template(rule.says).get_identifiers()
    for name in sorted(set(names) - PLACEHOLDERS):
        found.append(
            f"says: unknown placeholder ${name}; use one of {', '.join(sorted(PLACEHOLDERS))}"
        )
    if not Template(rule.says).is_valid():
        found.append("says: a $ must be followed by a placeholder's name, or be doubled")
    if found:
        return found
    for key, offers in (("offers", rule.offers), ("next_cause", rule.next_cause)):
        for number, offer in enumerate(offers, 1):
            found.extend(
                f"{key}[{number}].{text}" for text in _offer_mistakes(offer, rule, book, named)
            )
    return found


def _offer_mistakes(
    offer: Offer, rule: PatternRule, book: Rulebook, named: Collection[str]
) -> list[str]:
    entry = book.adjustment.get(offer.use)
    if entry is None:
        there = offer.use in named  # broken, and said so at its own place
        return [] if there else [f"use: there is no [adjustment.{offer.use}]"]
    if entry.knob not in knobs.KNOBS or any(
        _beyond("", number, _ANSWERS)
        for each in entry.effect.values()
        for number in (each.mean, each.sd)
    ):
        return []  # said at the adjustment
    if entry.corner == "same" and rule.each == "car":
        return [f"use: {offer.use} is at the same corner, but this pattern is of the whole car"]
    found = []
    for corner in CORNERS if rule.each != "car" else ("",):
        slope = effect_on(rule, corner, entry)
        if slope.mean == 0:
            found.append(f"use: {offer.use} does not move the figures of {rule.id}")
            break
        wanted = -1.0 if rule.above is not None else 1.0
        towards = "+" if slope.mean * wanted > 0 else "-"
        if offer.direction not in (None, towards):
            found.append(
                f"direction: {offer.direction} makes {rule.id} worse by the effects of {offer.use}"
            )
            break
    return found


def figure_names(rule: PatternRule, corner: str) -> tuple[str, ...]:
    """Return the full names of the figures a pattern looks at, at the corner where it does."""
    return (
        rule.figures if rule.each == "car" else tuple(f"{name}.{corner}" for name in rule.figures)
    )


def effect_on(rule: PatternRule, corner: str, entry: Adjustment, turns: Turns = "left") -> Estimate:
    """Return what one unit of an adjustment does to the mean of a pattern's figures."""
    names = figure_names(rule, corner)
    effects = entry.effect_at(corner)
    parts = [figure_effect(name, effects, turns) for name in names]
    mean = sum(part.mean for part in parts) / len(parts)
    return Estimate(mean, max(part.sd for part in parts))


def figure_effect(name: str, effects: Mapping[str, Estimate], turns: Turns = "left") -> Estimate:
    """Return the effect on one figure, from the effects on the base figures it is made of."""
    mean = variance = 0.0
    for term, weight in terms(name, turns).items():
        if term in effects:
            mean += weight * effects[term].mean
            variance += (weight * effects[term].sd) ** 2
    return Estimate(mean, variance**0.5)
