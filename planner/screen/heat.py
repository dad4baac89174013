"""How hot a tire is, in a word, and how far a strip is from its tire's average, in a mark.

A mark always stands beside the number; the colour only repeats it. Colours are steps 2, 4, 8 and 10
of the eleven of RdBu, a diverging scheme that people with any common colour vision can read:
C. A. Brewer, *ColorBrewer 2.0* (Pennsylvania State University, colorbrewer2.org), after M. Harrower
and C. A. Brewer, *ColorBrewer.org: an online tool for selecting colour schemes for maps*, The
Cartographic Journal 40 (2003), 27-37. What is as it should be has no colour.
"""

from typing import Literal

from planner.judging.across import Level
from planner.trade.corners import was_read

Heat = Literal["cold", "cool", "in range", "hot", "very hot", "not read"]

BESIDE = 20.0  # degF beyond the window that still counts as near it; from memory

MARKS: dict[Level, str] = {2: "++", 1: "+", 0: "", -1: "-", -2: "--"}

# Under the letters that read best on them.
STYLES: dict[Level, str] = {
    2: "#ffffff on #b2182b",
    1: "#000000 on #f4a582",
    -1: "#000000 on #92c5de",
    -2: "#ffffff on #2166ac",
}

LEGEND = ("+ hotter, - cooler than", "its tire's average;", "++ and -- far off")


def word(temperature: float, window: tuple[float, float]) -> Heat:
    """Return the word for a temperature [degF] against the tire's working range [degF]."""
    if not was_read(temperature):
        return "not read"
    low, high = window
    if temperature < low - BESIDE:
        return "cold"
    if temperature < low:
        return "cool"
    if temperature <= high:
        return "in range"
    if temperature <= high + BESIDE:
        return "hot"
    return "very hot"
