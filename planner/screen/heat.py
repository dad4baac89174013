"""How hot a strip of tire is, in a word and in a colour.

The word always stands beside the number; the colour only repeats it. Colours are of the palette
of Okabe and Ito, *Color Universal Design: How to make figures and presentations that are friendly
to colorblind people* (2002, revised 2008), whose hues people with any common colour vision tell
apart.
"""

from typing import Literal

from planner.trade.corners import was_read

Heat = Literal["cold", "cool", "in range", "hot", "very hot", "not read"]

BESIDE = 20.0  # degF beyond the window that still counts as near it; from memory

# Blue, sky blue, bluish green, orange and vermillion, under the letters that read best on them.
STYLES: dict[Heat, str] = {
    "cold": "#ffffff on #0072b2",
    "cool": "#000000 on #56b4e9",
    "in range": "#000000 on #009e73",
    "hot": "#000000 on #e69f00",
    "very hot": "#000000 on #d55e00",
    "not read": "#000000 on #ffffff",
}


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
