"""What a day has taught of a car: a small TOML file, carried to another day by hand."""

from collections.abc import Mapping
from datetime import date
from pathlib import Path

import attrs
import tomli_w

from planner.files import records, toml_files, whole_file
from planner.learning import observed
from planner.learning.observed import Told
from planner.rulebook.own_bands import Own
from planner.trade.corners import Turns
from planner.trade.figures import WHOLE_CAR
from planner.trade.refusals import Refusal, Unusable

FORMAT = 1
_WARMEST = 1000.0  # degF, of a difference between tires
_WANTED = "the path of a file that treadgate taught has written; or start without one"


@attrs.frozen
class Taught:
    """A whole file.

    Attributes
    ----------
    car : name of the car.
    rules : id of the rules that were believed beforehand.
    turns : which way the track turned.
    date : of the runs.
    runs : how many there were.
    told : what they alone say of the answers.
    in_balance : the car's own figures in balance, by figure.
    """

    car: str
    rules: str
    turns: Turns
    date: date
    runs: int
    told: Told
    in_balance: Mapping[str, Own] = attrs.field(factory=dict)
    format: int = FORMAT


def dump(taught: Taught) -> bytes:
    """Return what a day taught as the bytes of a file."""
    tables = records.plain().unstructure(taught)
    return tomli_w.dumps({"format": FORMAT, **tables}).encode()


def save(path: Path, content: bytes, like: Path | None = None) -> None:
    """Write a new file, whole or not at all.

    Parameters
    ----------
    content : as `dump` returns it.
    like : the plan; whoever may read that may read this.

    Raises
    ------
    Refusal
        There is a file of that name already, or it cannot be written.
    """
    try:
        whole_file.put_new(path, content, like)
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


def _mistakes(taught: Taught) -> list[str]:
    """Return what is wrong with a file whose keys and types are right."""
    problems = [] if taught.runs >= 1 else ["runs: must be at least 1"]
    for name, own in taught.in_balance.items():
        at = f"in_balance.{name}"
        if name not in WHOLE_CAR:
            problems.append(f"{at}: {name!r} is no figure of the whole car")
        if not abs(own.mean) <= _WARMEST:
            problems.append(f"{at}.mean: {own.mean:g} degF cannot be")
        if own.runs < 1:
            problems.append(f"{at}.runs: at least 1 is wanted")
    return problems + [f"told.{problem}" for problem in observed.mistakes(taught.told)]
