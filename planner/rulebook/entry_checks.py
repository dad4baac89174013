"""What is wrong with a single adjustment or pattern of a rules file, by its key."""

from collections.abc import Collection, Iterator, Mapping
from string import Template

from planner.car.car_model import COMPUTED_KNOBS
from planner.rulebook.rules import Adjustment, Offer, PatternRule, Rulebook
from planner.trade.cautions import CAUTIONS
from planner.trade.corners import CORNERS
from planner.trade.estimate import Estimate
from planner.trade.figures import PER_CORNER, WHOLE_CAR, terms
from planner.trade.knobs import KNOBS

MOST_OFFERS = 12  # of one pattern
MOST_STEPS = 100  # smallest steps in the most of one move: each of them is tried out
PLACEHOLDERS = ("average", "corner", "first", "limit", "second", "size", "value")

# Numbers far beyond any tire or car, so that a slip is not taken for a rule that never shows.
DEGREES = (-1000.0, 1000.0)  # degF: bands, aims, working range
ANSWERS = (-10_000.0, 10_000.0)  # degF per unit of a knob


def beyond(path: str, value: float | None, bounds: tuple[float, float]) -> Iterator[str]:
    """Yield that a number cannot be, where it lies outside its bounds."""
    low, high = bounds
    if value is not None and not low <= value <= high:
        yield f"{path}: must be between {low:g} and {high:g}, not {value:g}"


def adjustment_mistakes(entry: Adjustment) -> Iterator[str]:
    """Yield what is wrong with an adjustment, with the path from it."""
    if entry.knob not in KNOBS:
        yield f"knob: unknown knob {entry.knob!r}; use one of {', '.join(KNOBS)}"
        return
    knob = KNOBS[entry.knob]
    at_corners = set(knob.places) <= set(CORNERS)
    places = ("same", *knob.places) if at_corners else knob.places
    too_far = entry.most > knob.largest
    if entry.corner not in places:
        known = ", ".join(places)
        yield f"corner: there is no {entry.knob} at {entry.corner!r}; use one of {known}"
    if entry.step <= 0:
        yield "step: must be above 0"
    if entry.most < entry.step:
        yield "most: must not be below step"
    if too_far:
        yield f"most: at most {knob.largest:g} {knob.unit} in one move"
    if not too_far and entry.most > MOST_STEPS * entry.step > 0:
        yield f"step: too small; at most {MOST_STEPS} steps may make the most of one move"
    if not 0 <= entry.minutes <= 1000:
        yield "minutes: must be between 0 and 1000"
    if entry.caution and entry.caution not in CAUTIONS:
        yield f"caution: unknown caution {entry.caution!r}; use one of {', '.join(CAUTIONS)}"
    if not entry.effect and entry.knob not in COMPUTED_KNOBS:
        yield "effect: at least one figure is needed"
    corners = (*CORNERS, "same") if entry.corner == "same" else CORNERS
    for name, effect in entry.effect.items():
        yield from _effect_mistakes(name, effect, corners)


def _effect_mistakes(name: str, effect: Estimate, corners: Collection[str]) -> Iterator[str]:
    kind, _, corner = name.partition(".")
    if kind not in ("average", "split", "crown") or corner not in corners:
        yield f"effect.{name}: no base figure; write average, split or crown, then a corner"
    if effect.sd < 0:
        yield f"effect.{name}.sd: must not be below 0"
    yield from beyond(f"effect.{name}.mean", effect.mean, ANSWERS)
    yield from beyond(f"effect.{name}.sd", effect.sd, ANSWERS)


def pattern_mistakes(rule: PatternRule, book: Rulebook, named: Collection[str]) -> Iterator[str]:
    """Yield what is wrong with a pattern, with the path from it.

    Parameters
    ----------
    named : every adjustment the file names, whether or not it is among the rules.
    """
    found = [*_shape_mistakes(rule), *_number_mistakes(rule), *_placeholder_mistakes(rule)]
    yield from found
    if found:
        return
    for key, offers in (("offers", rule.offers), ("next_cause", rule.next_cause)):
        for number, offer in enumerate(offers, 1):
            for said in _offer_mistakes(offer, rule, book, named):
                yield f"{key}[{number}].{said}"
    yield from _other_cause_mistakes(rule, book, named)
    for number, offer in enumerate(rule.at_limit, 1):
        entry = book.adjustment.get(offer.use)
        if entry is None and offer.use not in named:
            yield f"at_limit[{number}].use: there is no [adjustment.{offer.use}]"
        elif entry is not None and entry.corner == "same" and rule.each == "car":
            yield (
                f"at_limit[{number}].use: {offer.use} is at the same corner, but this pattern is "
                "of the whole car"
            )


def _shape_mistakes(rule: PatternRule) -> Iterator[str]:
    allowed = WHOLE_CAR if rule.each == "car" else PER_CORNER
    for number, name in enumerate(rule.figures, 1):
        if name not in allowed:
            known = ", ".join(allowed)
            yield f"figures[{number}]: there is no {name!r} here; use one of {known}"
    kinds = (rule.above, rule.below, rule.window, rule.disagree)
    if not rule.figures:
        yield "figures: at least one is needed"
    if sum(kind is not None for kind in kinds) != 1:
        yield "above: exactly one of above, below, window and disagree is needed"
    if rule.disagree is not None and (
        len(rule.figures) != 2 or rule.disagree[0] >= rule.disagree[1]
    ):
        yield "disagree: two figures and a band [low, high] are needed"
    if rule.window is not None and (rule.figures != ("average",) or rule.stage is not None):
        yield "window: goes with the figure average, and holds no stage"
    if rule.stage is None and (rule.offers or rule.next_cause or rule.at_limit):
        yield "offers: a pattern without a stage is information and offers nothing"
    if rule.stage is not None and not rule.offers:
        yield "offers: a pattern with a stage needs at least one"
    if rule.alike is not None and rule.figures != ("front_split",):
        yield "alike: goes with the figure front_split only"
    if rule.own is not None and (rule.each != "car" or rule.own.figure not in WHOLE_CAR):
        yield f"own.figure: of a pattern of the whole car; use one of {', '.join(WHOLE_CAR)}"


def _number_mistakes(rule: PatternRule) -> Iterator[str]:
    if rule.after_moves is not None and not (1 <= rule.after_moves <= 100 and rule.next_cause):
        yield "after_moves: from 1 to 100, together with next_cause"
    numbers: Mapping[str, float | None] = {
        "above": rule.above,
        "below": rule.below,
        "aim": rule.aim,
        "alike": rule.alike,
        "between_cars": rule.between_cars,
        **dict(zip(("disagree[1]", "disagree[2]"), rule.disagree or (), strict=False)),
    }
    for key, value in numbers.items():
        yield from beyond(key, value, DEGREES)
    if rule.edge is not None and rule.sign * (rule.aim - rule.edge) > 0:
        yield f"aim: {rule.aim:g} is not in band, which ends at {rule.edge:g}"


def _placeholder_mistakes(rule: PatternRule) -> Iterator[str]:
    texts: list[tuple[str, str, tuple[str, ...]]] = [("says", rule.says, PLACEHOLDERS)]
    if rule.own is not None:
        texts.append(("own.says", rule.own.says, (*PLACEHOLDERS, "own")))
    for key, text, known in texts:
        template = Template(text)
        for name in sorted(set(template.get_identifiers()) - set(known)):
            yield f"{key}: unknown placeholder ${name}; use one of {', '.join(known)}"
        if not template.is_valid():
            yield f"{key}: a $ must be followed by a placeholder's name, or be doubled"


def _other_cause_mistakes(
    rule: PatternRule, book: Rulebook, named: Collection[str]
) -> Iterator[str]:
    """Yield what is wrong with the other causes: they must go with the driver's word."""
    others = rule.other_causes
    if others is None:
        return
    if rule.stage is None:
        yield "other_causes: a pattern without a stage is information and offers nothing"
        return
    if others.feel == "neutral":
        yield "other_causes.feel: use tight or loose"
        return
    felt = next((each for each in book.pattern if each.feel == others.feel and each.stage), None)
    for number, offer in enumerate(others.offers, 1):
        at = f"other_causes.offers[{number}]"
        if felt is None:
            yield f"{at}: no pattern has feel = {others.feel!r}, which it would have to fix"
        else:
            yield from (f"{at}.{said}" for said in _offer_mistakes(offer, felt, book, named))


def _offer_mistakes(
    offer: Offer, rule: PatternRule, book: Rulebook, named: Collection[str]
) -> Iterator[str]:
    entry = book.adjustment.get(offer.use)
    if entry is None:
        if offer.use not in named:  # a broken one is told of at its own place
            yield f"use: there is no [adjustment.{offer.use}]"
        return
    sizes = [size for effect in entry.effect.values() for size in (effect.mean, effect.sd)]
    if entry.knob not in KNOBS or not all(ANSWERS[0] <= size <= ANSWERS[1] for size in sizes):
        return  # told of at the adjustment
    if entry.corner == "same" and rule.each == "car":
        yield f"use: {offer.use} is at the same corner, but this pattern is of the whole car"
        return
    for band in (band for band in book.bands if band.rule is rule):
        if not entry.effect and any(
            term.startswith("average.") for name in band.figures for term in terms(name)
        ):
            continue  # computed for the typical cars when it is asked for, and on averages alone
        slope = band.slope(entry)
        if slope == 0:
            yield f"use: {offer.use} does not move the figures of {rule.id}"
            return
        towards = "-" if slope * rule.sign > 0 else "+"
        if offer.direction not in (None, towards):
            yield f"direction: {offer.direction} on {offer.use} makes {rule.id} worse"
            return
