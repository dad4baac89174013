"""Hidden values: what each usually is, and how far a car or a day may lie from that.

A record declares both in one place, field by field. `draw` goes through the fields in their order,
and every draw advances the generator: reorder two fields, and a seed is another day.
"""

import math
from collections.abc import Callable
from typing import Any, TypeVar

import attrs
import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Chance = np.random.Generator
Record = TypeVar("Record", bound=attrs.AttrsInstance)
Four = tuple[float, float, float, float]  # LF RF LR RR

_DRAW = "draw"


def near(usual: float, share: float) -> Any:
    """Declare a value whose logarithm is normal around the usual, with this deviation [1]."""
    return _field(usual, lambda chance: float(usual * math.exp(chance.normal(0.0, share))))


def between(usual: float, low: float, high: float) -> Any:
    """Declare a value that is anywhere between two others."""
    return _field(usual, lambda chance: float(chance.uniform(low, high)))


def four(*usual: float, share: float, own: float | None = None) -> Any:
    """Declare a value of each tire: LF RF LR RR.

    Parameters
    ----------
    usual : of each tire.
    share : standard deviation of the logarithm that all four have in common [1].
    own : and of what each has for itself [1]; None for nothing.
    """
    values = np.array(usual)

    def drawn(chance: Chance) -> Array:
        common = values * math.exp(chance.normal(0.0, share))
        if own is None:
            return common
        return np.asarray(common * np.exp(chance.normal(0.0, own, 4)), dtype=np.float64)

    return _field(attrs.Factory(values.copy), drawn)


def four_between(low: Four, high: Four) -> Any:
    """Declare a value of each tire that is anywhere between two others, usually half-way."""
    ends = np.array(low), np.array(high)
    return _field(
        attrs.Factory(lambda: (ends[0] + ends[1]) / 2), lambda chance: chance.uniform(*ends)
    )


def part(record: type[attrs.AttrsInstance]) -> Any:
    """Declare a record whose own fields are drawn."""
    return _field(attrs.Factory(record), lambda chance: draw(record, chance))


def given(record: Callable[[], Any], drawn: Callable[[Chance], Any]) -> Any:
    """Declare a record that is drawn by a function of its own."""
    return _field(attrs.Factory(record), drawn)


def _field(usual: object, drawn: Callable[[Chance], Any]) -> Any:
    return attrs.field(default=usual, metadata={_DRAW: drawn})


def draw(record: type[Record], chance: Chance) -> Record:
    """Draw a record around its usual values; a field declared without a spread stays as it is."""
    drawn = {f.name: f.metadata[_DRAW] for f in attrs.fields(record) if _DRAW in f.metadata}
    return record(**{name: of(chance) for name, of in drawn.items()})
