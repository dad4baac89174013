"""What a car has taught: learned effects in a small TOML file, read back on another day.

The newer the file, the more it counts: what the runs said is loosened by the time since, then
joined with the rules' own prior, so that an old file ends where the rules begin.
"""

from collections.abc import Mapping
from datetime import date
from pathlib import Path

import attrs
import tomli_w

from planner.car.changes import Setting
from planner.files import records, toml_files, whole_file
from planner.learning.levels import is_level
from planner.learning.response import Posterior
from planner.rulebook.own_bands import Own
from planner.trade import knobs
from planner.trade.corners import Turns
from planner.trade.estimate import Estimate
from planner.trade.figures import BASE_FIGURES, WHOLE_CAR
from planner.trade.knobs import KNOBS
from planner.trade.refusals import Refusal, Unusable

FORMAT = 1
MOST_EFFECTS = 1000
_ANSWERS = 10_000.0  # degF per unit of a knob; far beyond any car
_LEAST_SPREAD = 1e-6
_WARMEST = 1000.0  # degF, of a difference between tires
_WANTED = "the path of a file that treadgate taught has written; or start without one"

# How much a sensitivity drifts in a day, as a share of the prior's spread: in a hundred days what
# was learned has drifted by as much as was not known to begin with. From memory.
DRIFT = 0.01  # per day


@attrs.frozen
class TaughtEffect:
    """One learned sensitivity.

    Attributes
    ----------
    knob, place : the setting.
    figure : the base figure.
    mean, sd : learned change of the figure per unit of the knob [degF per unit].
    prior_mean, prior_sd : what the rules had believed [degF per unit].
    """

    knob: str
    place: str
    figure: str
    mean: float
    sd: float
    prior_mean: float
    prior_sd: float


@attrs.frozen
class Taught:
    """A whole file.

    Attributes
    ----------
    car : name of the car.
    rules : id of the rules whose priors were learned from.
    turns : which way the track turned.
    date : of the runs.
    runs : how many there were.
    in_balance : the car's own figures in balance, by figure.
    """

    car: str
    rules: str
    turns: Turns
    date: date
    runs: int
    effect: tuple[TaughtEffect, ...]
    in_balance: Mapping[str, Own] = attrs.field(factory=dict)
    format: int = FORMAT


def learned(posterior: Posterior) -> tuple[TaughtEffect, ...]:
    """Return the sensitivities of settings that were moved, where the runs said something of them.

    How the errors of two sensitivities hang together is not kept.
    """
    effects = []
    for setting, figure in posterior.learned():
        if is_level(setting):
            continue  # of this set and this day alone
        prior = posterior.prior_of(setting, figure)
        now = posterior.sensitivity(setting, figure)
        if round(now.sd, 6) < round(prior.sd, 6):
            effects.append(TaughtEffect(*setting, figure, now.mean, now.sd, prior.mean, prior.sd))
    return tuple(effects)


def of(
    posterior: Posterior, *, car: str, rules: str, on: date, own: Mapping[str, Own] | None = None
) -> Taught:
    """Return what the runs taught of the knobs; see `learned`. Anything else was done once.

    Parameters
    ----------
    posterior : learned from the day's runs.
    car, rules : name of the car and id of the rules.
    on : date of the runs.
    own : the car's own figures in balance.
    """
    kept = tuple(row for row in learned(posterior) if knobs.is_place(row.knob, row.place))
    return Taught(car, rules, posterior.turns, on, posterior.runs, kept, dict(own or {}))


def dump(
    posterior: Posterior, *, car: str, rules: str, on: date, own: Mapping[str, Own] | None = None
) -> bytes:
    """Return what the runs taught as the bytes of a file; see `of`."""
    tables = records.plain().unstructure(of(posterior, car=car, rules=rules, on=on, own=own))
    return tomli_w.dumps({"format": FORMAT, **tables}).encode()


def save(path: Path, content: bytes) -> None:
    """Write a new file, whole or not at all.

    Parameters
    ----------
    content : as `dump` returns it.

    Raises
    ------
    Refusal
        There is a file of that name already, or it cannot be written.
    """
    try:
        whole_file.put_new(path, content)
    except FileExistsError:
        raise Refusal(
            "exists",
            "There is a file of this name already; it is not overwritten.",
            where=str(path),
            hint="give another name",
        ) from None
    except OSError as error:
        said = "What the car has taught cannot be written"
        raise whole_file.cannot_write(path, error, said) from None


def read(path: Path) -> Taught:
    """Read and check a file.

    Raises
    ------
    Unusable
        It cannot be used; names the key of every mistake.
    """
    try:
        data = toml_files.read_toml(path, "taught")
    except Unusable as error:
        raise Unusable(
            error.code, error.message, where=error.where, hint=error.hint or _WANTED
        ) from None
    form = data.get("format")
    if form != FORMAT or isinstance(form, bool):
        newer = isinstance(form, int) and form > FORMAT
        number = form if isinstance(form, int) and form < 1_000_000 else "a far later one"
        raise Unusable(
            "newer-format" if newer else "not-taught",
            f"This file is of format {number}; this program reads format {FORMAT}."
            if newer
            else "This is not a file of what a car has taught.",
            where=f"{path}, format",
            hint="use the newer program that wrote it" if newer else _WANTED,
        )
    try:
        taught = records.structure(data, Taught, str(path), "taught", records.plain())
    except Unusable as error:
        raise Unusable(error.code, error.message, where=error.where, hint=_WANTED) from None
    problems = _mistakes(taught)
    if problems:
        raise Unusable(
            "bad-key",
            "The taught file has mistakes:\n" + "\n".join(problems),
            where=str(path),
            hint=_WANTED,
        )
    return taught


def effects(taught: Taught, today: date) -> dict[Setting, dict[str, Estimate]]:
    """Return prior effects for today.

    Parameters
    ----------
    taught : what was learned.
    today : a date before that of the runs counts as theirs.

    Returns
    -------
    dict
        For each setting, effects on base figures [degF per unit], to be put over the rules' own.

    Notes
    -----
    Let (m0, s0) be the rules' prior and (m1, s1) what was learned. The runs alone said a with
    variance v: 1/v = 1/s1² - 1/s0² and a/v = m1/s1² - m0/s0². After n days the variance is
    v + (w n)², w = `DRIFT` · s0; joined with the prior again, precisions and their weights add::

        1/s² = 1/s0² + 1/(v + (w n)²),    m = s² (m0/s0² + a/(v + (w n)²))

    So on the day itself it is what was learned, it widens with time, and is never wider than the
    rules' own prior.
    """
    days = max(0, (today - taught.date).days)
    found: dict[Setting, dict[str, Estimate]] = {}
    for row in taught.effect:
        precision = 1 / row.sd**2 - 1 / row.prior_sd**2
        alone = (row.mean / row.sd**2 - row.prior_mean / row.prior_sd**2) / precision
        weight = 1 / (1 / precision + (DRIFT * row.prior_sd * days) ** 2)
        total = 1 / row.prior_sd**2 + weight
        mean = (row.prior_mean / row.prior_sd**2 + alone * weight) / total
        found.setdefault((row.knob, row.place), {})[row.figure] = Estimate(mean, total**-0.5)
    return found


def _mistakes(taught: Taught) -> list[str]:
    """Return what is wrong with a file whose keys and types are right."""
    problems = [] if taught.runs >= 1 else ["runs: must be at least 1"]
    if len(taught.effect) > MOST_EFFECTS:
        return [f"effect: {len(taught.effect)} of them; at most {MOST_EFFECTS} are taken"]
    for name, own in taught.in_balance.items():
        at = f"in_balance.{name}"
        if name not in WHOLE_CAR:
            problems.append(f"{at}: {name!r} is no figure of the whole car")
        if not abs(own.mean) <= _WARMEST:
            problems.append(f"{at}.mean: {own.mean:g} degF cannot be")
        if own.runs < 1:
            problems.append(f"{at}.runs: at least 1 is wanted")
    seen = set()
    for number, row in enumerate(taught.effect, 1):
        at = f"effect[{number}]"
        if row.knob not in KNOBS:
            problems.append(f"{at}.knob: unknown knob {row.knob!r}; use one of {', '.join(KNOBS)}")
        elif not knobs.is_place(row.knob, row.place):
            wanted = ", ".join(KNOBS[row.knob].places)
            problems.append(f"{at}.place: {row.knob} is not changed at {row.place!r}; {wanted} are")
        if row.figure not in BASE_FIGURES:
            problems.append(f"{at}.figure: {row.figure!r} is not a base figure")
        for key in ("mean", "sd", "prior_mean", "prior_sd"):
            value = getattr(row, key)
            if not abs(value) <= _ANSWERS:
                problems.append(f"{at}.{key}: {value:g} cannot be; at most {_ANSWERS:g} either way")
        if row.sd < _LEAST_SPREAD:
            problems.append(f"{at}.sd: must be above 0")
        elif row.sd >= row.prior_sd:
            problems.append(f"{at}.sd: must be below prior_sd, or nothing was learned")
        if (row.knob, row.place, row.figure) in seen:
            problems.append(f"{at}: {row.knob} at {row.place} on {row.figure} is there twice")
        seen.add((row.knob, row.place, row.figure))
    return problems
