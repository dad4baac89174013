"""The plots of the report: SVG drawn by matplotlib, to be set into a page.

The same day gives the same bytes. Lines differ by marker and dash as well as by colour, and the
band is hatched, so that nothing is lost in black and white. Colours are of the palette of M. Okabe
and K. Ito, *Color Universal Design: How to make figures and presentations that are friendly to
colorblind people* (2002, revised 2008).
"""

import io
import logging
import os
import re
from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

import attrs

os.environ["MPLBACKEND"] = "svg"  # before matplotlib loads: that of a notebook is none elsewhere

import matplotlib
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FixedFormatter, FixedLocator, MaxNLocator

logging.getLogger("matplotlib").setLevel(logging.ERROR)  # no word of caches and fonts

WIDTH, HEIGHT = 3.5, 1.8  # in; the page shows three abreast on paper, one on a phone
APART = 0.11  # runs; how far lines that share a run stand apart
MOST_TICKS = 16

# Where the axes lie in the figure (left, bottom, width, height), so that plots line up.
_AXES = (0.145, 0.215, 0.84, 0.6)
_LAP_AXES = (0.21, 0.215, 0.775, 0.68)

_INK, _FAINT = "#000000", "#595959"

_SETTINGS: dict[str, Any] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "treadgate",
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans", "Arial", "Helvetica"],
    "font.size": 8.5,
    "axes.unicode_minus": False,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.linewidth": 0.8,
    "hatch.linewidth": 0.5,
}


@attrs.frozen
class Style:
    """How a line is drawn."""

    colour: str
    marker: str
    dash: Any
    filled: bool = True


# One a tire; the fronts are filled and the rears open.
STYLES: Mapping[str, Style] = {
    "LF": Style("#0072b2", "o", "-"),
    "RF": Style("#d55e00", "s", "--"),
    "LR": Style("#009e73", "^", ":", filled=False),
    "RR": Style("#000000", "D", "-.", filled=False),
}
_OTHERS = (Style("#0072b2", "o", "-"), Style("#d55e00", "s", "--", filled=False))


@attrs.frozen
class Point:
    """A value at a run, with one standard error; `alone` is what that run by itself read."""

    run: float
    value: float
    error: float | None = None
    alone: float | None = None


@attrs.frozen
class Line:
    """One figure over the day."""

    label: str
    points: tuple[Point, ...]
    style: Style


@attrs.frozen
class Sign:
    """A change marked on the axis after a run; `own` when it was made for what is drawn."""

    letter: str
    after_run: int
    own: bool


@attrs.frozen
class Axis:
    """What the runs of the day are called along the axis; runs that judge nothing are void.

    Attributes
    ----------
    first : number of the first.
    called : what is counted.
    """

    runs: int
    void: frozenset[int]
    signs: tuple[Sign, ...] = ()
    first: int = 1
    called: str = "run"


def style_of(name: str, position: int) -> Style:
    """Return how a figure is drawn: by its corner, or else by its place among others."""
    corner = name.partition(".")[2] or name
    return STYLES.get(corner, _OTHERS[position % len(_OTHERS)])


def figure_plot(
    key: str,
    title: str,
    says: str,
    lines: Sequence[Line],
    band: tuple[float | None, float | None],
    axis: Axis,
    unit: str,
) -> str:
    """Return figures over the day with their band.

    Parameters
    ----------
    key : prefix of all ids; different for every plot of a page.
    title, says : what is drawn, for those who cannot see it.
    band : lowest and highest value that shows no pattern; None where open.
    unit : written at the axis.
    """
    with _house_style():
        figure = Figure(figsize=(WIDTH, HEIGHT))
        axes = figure.add_axes(_AXES)
        for position, line in enumerate(lines):
            _draw(axes, line, _aside(position, len(lines)))
        low, high = _limits(lines, band)
        axes.set_ylim(low, high)
        if band != (None, None):
            axes.axhspan(
                low if band[0] is None else band[0],
                high if band[1] is None else band[1],
                facecolor="#ededed",
                edgecolor="#c8c8c8",
                hatch="////",
                linewidth=0,
                zorder=0,
            )
        for edge in (edge for edge in band if edge is not None):
            axes.axhline(edge, color=_FAINT, linewidth=0.9, zorder=1)
        _run_axis(axes, axis)
        axes.set_ylabel(unit)
        if len(lines) > 1:
            _legend(axes, len(lines))
        return _svg(figure, key, title, says)


def scatter_plot(
    key: str, title: str, says: str, lines: Sequence[Line], along: str, unit: str
) -> str:
    """Return values over another value in place of the number of the run.

    Parameters
    ----------
    along : what that value is, written along the axis.
    """
    with _house_style():
        figure = Figure(figsize=(WIDTH, HEIGHT))
        axes = figure.add_axes(_AXES)
        for line in lines:
            _draw(axes, attrs.evolve(line, style=attrs.evolve(line.style, dash="none")), 0.0)
        axes.margins(0.12)
        axes.xaxis.set_major_locator(MaxNLocator(5))
        axes.set_xlabel(along)
        axes.set_ylabel(unit)
        _legend(axes, len(lines))
        return _svg(figure, key, title, says)


def pressure_plot(
    key: str, title: str, says: str, cold: Sequence[Line], hot: Sequence[Line], axis: Axis
) -> str:
    """Return cold and hot pressures over the day."""
    with _house_style():
        figure = Figure(figsize=(WIDTH, HEIGHT))
        axes = figure.add_axes(_AXES)
        for position, line in enumerate(cold):
            _draw(axes, line, _aside(position, len(cold)))
        for position, line in enumerate(hot):
            bare = attrs.evolve(line, style=attrs.evolve(line.style, dash="none"))
            _draw(axes, bare, _aside(position, len(hot)))
        values = [point.value for line in (*cold, *hot) for point in line.points]
        room = max(0.1 * (max(values) - min(values)), 1.0)
        axes.set_ylim(min(values) - room, max(values) + 2 * room)
        _run_axis(axes, axis)
        axes.set_ylabel("psi")
        _legend(axes, 4)
        return _svg(figure, key, title, says)


def lap_plot(key: str, title: str, says: str, mean: Line, falloff: Line, axis: Axis) -> str:
    """Return mean lap and fall-off over the day, one above the other."""
    with _house_style():
        figure = Figure(figsize=(WIDTH, HEIGHT))
        left, bottom, width, height = _LAP_AXES
        below = figure.add_axes((left, bottom, width, 0.43 * height))
        above = figure.add_axes((left, bottom + 0.57 * height, width, 0.43 * height))
        _draw(above, mean, 0.0)
        _draw(below, falloff, 0.0)
        below.axhline(0.0, color=_FAINT, linewidth=0.8, zorder=1)
        for axes, name in ((above, "s"), (below, "s per lap")):
            axes.margins(y=0.2)
            axes.yaxis.set_major_locator(MaxNLocator(3))
            axes.set_ylabel(name)
        _run_axis(below, axis)
        _run_axis(above, axis)
        above.set_xlabel("")
        above.tick_params(labelbottom=False)
        for text in below.texts:
            text.set_visible(False)
        return _svg(figure, key, title, says)


def _house_style() -> Any:
    """Return the settings everything is drawn with, whatever the machine's own are."""
    ours: dict[Any, Any] = {
        name: value
        for name, value in matplotlib.rcParamsDefault.items()
        if not name.startswith(("backend", "webagg", "interactive", "toolbar", "date"))
    }
    return matplotlib.rc_context(ours | _SETTINGS)


def _aside(position: int, lines: int) -> float:
    return APART * (position - (lines - 1) / 2)


def _draw(axes: Axes, line: Line, aside: float) -> None:
    style = line.style
    at = [point.run + aside for point in line.points]
    errors = [point.error or 0.0 for point in line.points]
    axes.errorbar(
        at,
        [point.value for point in line.points],
        yerr=errors if any(errors) else None,
        color=style.colour,
        linestyle=style.dash,
        linewidth=1.1,
        marker=style.marker,
        markersize=4.2,
        markerfacecolor=style.colour if style.filled else "#ffffff",
        elinewidth=0.9,
        capsize=2.0,
        label=line.label,
        zorder=3,
    )
    alone = [(x, point.alone) for x, point in zip(at, line.points, strict=True)]
    crosses = [(x, y) for x, y in alone if y is not None]
    if crosses:
        axes.plot(
            [x for x, _ in crosses],
            [y for _, y in crosses],
            linestyle="none",
            marker="x",
            markersize=3.4,
            markeredgewidth=0.8,
            color=style.colour,
            zorder=2,
        )


def _limits(lines: Sequence[Line], band: tuple[float | None, float | None]) -> tuple[float, float]:
    values = [edge for edge in band if edge is not None]
    for line in lines:
        for point in line.points:
            error = point.error or 0.0
            values += [point.value - error, point.value + error]
            values += [] if point.alone is None else [point.alone]
    low, high = min(values), max(values)
    least = 0.5 if band != (None, None) else 0.0  # degF, of a figure; an answer may be far less
    room = max(0.07 * (high - low), least) or 0.5
    return low - room, high + 1.6 * room


def _run_axis(axes: Axes, axis: Axis) -> None:
    """Number the runs, bracket those that judge nothing, and mark the changes between them."""
    step = -(-axis.runs // MOST_TICKS)
    shown = list(range(axis.first, axis.runs + 1, step))
    names = [f"({run})" if run in axis.void else str(run) for run in shown]
    axes.xaxis.set_major_locator(FixedLocator(shown))
    axes.xaxis.set_major_formatter(FixedFormatter(names))
    after_last = any(sign.after_run >= axis.runs for sign in axis.signs)
    axes.set_xlim(axis.first - 0.5, axis.runs + (0.8 if after_last else 0.5))
    axes.set_xlabel(axis.called)
    for sign in axis.signs:
        x = sign.after_run + 0.5
        axes.axvline(
            x, color=_INK if sign.own else _FAINT, linewidth=0.9, linestyle=(0, (1, 2)), zorder=1
        )
        axes.annotate(
            sign.letter,
            (x, 1.0),
            xycoords=axes.get_xaxis_transform(),
            ha="center",
            va="center",
            fontsize=8,
            fontweight="bold",
            color="#ffffff" if sign.own else _INK,
            bbox={
                "boxstyle": "round,pad=0.22",
                "facecolor": _INK if sign.own else "#ffffff",
                "edgecolor": _INK,
                "linewidth": 0.7,
            },
            zorder=4,
        )


def _legend(axes: Axes, columns: int) -> None:
    if not axes.get_legend_handles_labels()[1]:
        return  # nothing has a name
    axes.legend(
        loc="lower center",
        bbox_to_anchor=(0.5, 1.04),
        ncols=columns,
        frameon=False,
        fontsize=8,
        handlelength=2.4,
        columnspacing=1.1,
        borderaxespad=0.2,
    )


def _svg(figure: Figure, key: str, title: str, says: str) -> str:
    """Return the figure as an element to be set into a page, with its title and description."""
    out = io.StringIO()
    nothing = dict.fromkeys(("Creator", "Date", "Format", "Type"))
    figure.savefig(out, format="svg", metadata=nothing)
    text = out.getvalue()
    text = text[text.index("<svg") :]  # no prologue inside a page
    text = re.sub(r"<defs>\s*<style.*?</style>\s*</defs>", "", text, flags=re.DOTALL)
    text = re.sub(r"<!--.*?-->|<metadata>.*?</metadata>", "", text, flags=re.DOTALL)
    used = set(re.findall(r'(?:href="|url\()#([^")]+)', text))

    def named(found: re.Match[str]) -> str:
        return f' id="{key}-{found[1]}"' if found[1] in used else ""

    text = re.sub(r'\s+id="([^"]+)"', named, text)
    text = re.sub(r'(href="|url\()#', rf"\g<1>#{key}-", text)
    size = re.search(r'viewBox="([^"]+)"', text)
    assert size is not None
    head = (
        f'<svg class="plot" viewBox="{size[1]}" role="img" xmlns="http://www.w3.org/2000/svg" '
        f'xmlns:xlink="http://www.w3.org/1999/xlink" aria-labelledby="{key}-title {key}-desc">'
        f'<title id="{key}-title">{escape(title)}</title>'
        f'<desc id="{key}-desc">{escape(says)}</desc>'
    )
    body = text[text.index(">") + 1 :]
    return head + re.sub(r"\n\s*", "\n", body).strip()
