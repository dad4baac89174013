"""A number that is not known exactly: its mean and how far it may be off."""

import attrs


@attrs.frozen
class Estimate:
    """A mean and one standard deviation, both in the unit of what is estimated."""

    mean: float
    sd: float
