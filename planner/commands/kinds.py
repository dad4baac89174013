"""What options and arguments take: files, numbers, changes, steps and texts, refused in our words.

A number is read as everywhere else (a decimal comma will do), within bounds that no crew reaches.
A text may hold anything that can be written down; the screen decides how to show it.
"""

import os
import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import attrs
import click

from planner.car import changes
from planner.files import file_name
from planner.plan.amendments import Which
from planner.run import typed
from planner.run.readings import MOST_WORDS
from planner.trade import plain_text
from planner.trade.numbers import Number
from planner.trade.refusals import Refusal, quoted

MOST_NAME = 300  # letters of a name of a track

if TYPE_CHECKING:  # older versions of click do not take what their values are
    _Kind = click.ParamType[Any]
    _Choice = click.Choice[str]
else:
    _Kind = click.ParamType
    _Choice = click.Choice


class File(click.Path):
    """A file or folder, there or not; its name must be one that a file can have."""

    def __init__(self, *, folders: bool = False) -> None:
        super().__init__(dir_okay=folders, path_type=Path)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return the path."""
        name = os.fspath(value)
        trouble = file_name.trouble(name)
        if trouble:
            raise Refusal(
                "bad-value",
                f"{quoted(name)} cannot be used: {trouble}.",
                where=_where(param),
                hint=f"{_where(param)}: the name of a {'folder or ' if self.dir_okay else ''}file",
            )
        return super().convert(value, param, ctx)


@attrs.frozen
class _Number(_Kind):
    """A number within its bounds."""

    of: Number
    name: str = "number"

    def convert(self, value: Any, param: click.Parameter | None, _: click.Context | None) -> Any:
        """Return the number."""
        if not isinstance(value, str):
            return value  # a default
        where, hint = _where(param), f"{_where(param)} {self.of.example}"
        number = typed.number(value, where, self.of.example)
        if self.of.whole and number != int(number):
            raise Refusal(
                "bad-value", f"{quoted(value)} is not a whole number.", where=where, hint=hint
            )
        if not self.of.holds(number):
            raise Refusal(
                "bad-value",
                f"{number:g} is out of range; use {self.of.low:g} to {self.of.high:g}.",
                where=where,
                hint=hint,
            )
        return int(number) if self.of.whole else number


def whole(low: int, high: int, example: str) -> _Kind:
    """Return the type of a whole number that only counts, within bounds."""
    return _Number(Number("", "", low, high, example, whole=True))


def within(number: Number) -> _Kind:
    """Return the type of a number that is declared, within its bounds."""
    return _Number(number)


class Change(_Kind):
    """One change, such as ``pressure:RF:-1.0``."""

    name = "change"

    def convert(self, value: Any, param: click.Parameter | None, _: click.Context | None) -> Any:
        """Return its knob, its place and the amount."""
        return changes.parse(value, _where(param))


_RUN = re.compile(r"run[\s#-]*(?=\d)", re.IGNORECASE)
_STEP = re.compile(r"(?:(?:step)?\s*(-?\d{1,5})|run[\s#-]*(\d{1,5}))", re.IGNORECASE)


class Step(_Kind):
    """A step by its number, or a run by its own, such as ``run3``."""

    name = "step"

    def convert(self, value: Any, param: click.Parameter | None, _: click.Context | None) -> Any:
        """Return which step is meant."""
        found = _STEP.fullmatch(value.strip())
        if found is None:
            raise Refusal(
                "bad-value",
                f"{quoted(value)} is not a step.",
                where=_where(param),
                hint=f"{_where(param)}: 3, or run3 for the third run",
            )
        step, run = found.groups()
        return Which(int(step or run), is_run=step is None)


@attrs.frozen
class Run(_Kind):
    """A run by its number, as ``3`` or ``run3``."""

    name: str = "run"

    def convert(
        self, value: Any, param: click.Parameter | None, context: click.Context | None
    ) -> Any:
        """Return the number of the run."""
        number = whole(-99_999, 99_999, "3")
        return number.convert(_RUN.sub("", value.strip(), count=1), param, context)


@attrs.frozen
class RunOrPlan(_Kind):
    """A run by its number, or another plan."""

    name: str = "run or plan"

    def convert(
        self, value: Any, param: click.Parameter | None, context: click.Context | None
    ) -> Any:
        """Return the number of the run, or the path of the plan."""
        kind = Run() if re.fullmatch(r"-?\d+", _RUN.sub("", value.strip(), count=1)) else File()
        return kind.convert(value, param, context)


@attrs.frozen
class Text(_Kind):
    """A text of at most so many letters."""

    most: int = MOST_WORDS
    name: str = "text"

    def convert(self, value: Any, param: click.Parameter | None, _: click.Context | None) -> Any:
        """Return the text, as it can be stored."""
        if len(value) > self.most:
            raise Refusal(
                "too-long",
                f"This text has {len(value)} letters; the limit is {self.most}.",
                where=_where(param),
                hint="shorten it, or keep it in a file and name the file here",
            )
        return plain_text.storable(value)


class Spoken(_Choice):
    """One of a few words, or a driver's word for it."""

    def __init__(self, words: Sequence[str], read: Callable[[str, str], Any]) -> None:
        super().__init__(words)
        self._read = read

    def convert(self, value: Any, param: click.Parameter | None, _: click.Context | None) -> Any:
        """Return what is kept of it."""
        return value if value in self.choices else self._read(value, _where(param))


def _where(param: click.Parameter | None) -> str:
    """Return an option as it is typed, an argument by its name."""
    if param is None:
        return ""
    if isinstance(param, click.Argument):
        return (param.metavar or f"{param.name}".upper()).strip("[]")
    return max(param.opts, key=len)
