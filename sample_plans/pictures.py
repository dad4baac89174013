"""Makes the pictures in README.md from the sample plans: `python sample_plans/pictures.py`.

`guide.svg` is what the terminal shows after the first run of `day-begun.toml`; `report.png` is page
one of the report of `finished.toml` (needs chromium; without it the picture is left as it is).
"""

import os
import shutil
import subprocess
import sys
import tempfile
from contextlib import suppress
from datetime import timedelta
from functools import partial
from io import BytesIO, StringIO
from pathlib import Path

from PIL import Image
from rich.console import Console
from rich.style import Style
from rich.terminal_theme import DEFAULT_TERMINAL_THEME
from rich.text import Text

from planner import commands
from planner.screen import window
from planner.storage import planfile, plans

HERE = Path(__file__).parent
COLUMNS = 80
WIDE, HIGH, SHOWN = 1000, 1265, 800  # px of the page, and of the picture's width
COLOURS = 96

# No window round it, and no letters fetched from anywhere.
FORMAT = """\
<svg viewBox="-12 0 {width} {terminal_height}" xmlns="http://www.w3.org/2000/svg">
<style>
.{unique_id}-matrix {{ font: {char_height}px/{line_height}px ui-monospace, "DejaVu Sans Mono", \
Menlo, Consolas, monospace; }}
{styles}
</style>
<defs>{lines}</defs>
<rect x="-12" width="100%" height="100%" fill="#ffffff"/>
{backgrounds}
<g class="{unique_id}-matrix">{matrix}</g>
</svg>
"""


def guide() -> str:
    """Return the terminal after the first run as SVG."""
    shown = StringIO()
    console = partial(
        Console,
        width=COLUMNS,
        height=24,
        force_terminal=True,
        color_system="truecolor",
        highlight=False,
    )
    # A style keeps the colours it was first rendered in, were it on a terminal that has fewer.
    Style.parse.cache_clear()
    Style._add.cache_clear()
    at, now = Path.cwd(), planfile.now
    plan = planfile.load(HERE / "day-begun.toml")
    planfile.now = lambda: plan.step[-1].time + timedelta(minutes=2)
    os.chdir(HERE.parent)  # so that the plan is named as one would type it
    try:
        window.show(plans.open_plan(Path("sample_plans/day-begun.toml")), console(file=shown))
    finally:
        os.chdir(at)
        planfile.now = now
    paper = console(file=StringIO(), record=True)
    paper.print(Text.from_ansi(shown.getvalue()))
    drawn = paper.export_svg(theme=DEFAULT_TERMINAL_THEME, code_format=FORMAT, unique_id="guide")
    return "\n".join(line.rstrip() for line in drawn.splitlines()) + "\n"


def report(chromium: str) -> bytes:
    """Return page one of the report as PNG."""
    with tempfile.TemporaryDirectory() as folder:
        page, shot = Path(folder, "day.html"), Path(folder, "day.png")
        with suppress(SystemExit):
            commands.main(["report", str(HERE / "finished.toml"), "-o", str(page)])
        subprocess.run(
            [
                chromium,
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--hide-scrollbars",
                f"--user-data-dir={folder}/browser",
                f"--window-size={WIDE},{HIGH}",
                f"--screenshot={shot}",
                page.as_uri(),
            ],
            check=True,
            capture_output=True,
        )
        picture = Image.open(shot).convert("RGB")
    picture = picture.resize((SHOWN, SHOWN * HIGH // WIDE), Image.Resampling.LANCZOS)
    out = BytesIO()
    picture.quantize(COLOURS, Image.Quantize.MAXCOVERAGE).save(out, "PNG", optimize=True)
    return out.getvalue()


def main() -> None:
    """Write both pictures."""
    (HERE / "guide.svg").write_text(guide(), "utf-8")
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        sys.exit("chromium is not installed: report.png is left as it is")
    (HERE / "report.png").write_bytes(report(chromium))


if __name__ == "__main__":
    main()
