"""A browser without a window, to look at pages with.

Where there is none the tests that need it are skipped; `.ci/run` says that there must be one.
"""

import html
import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

MUST = "TREADGATE_BROWSER"  # set where a missing browser is a failure

_OPTIONS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


def _program() -> str:
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        if os.environ.get(MUST):
            pytest.fail(f"{MUST} is set, but chromium is not installed")
        pytest.skip("chromium is not installed (apt-get install chromium)")
    return found


def _run(folder: Path, *options: str) -> str:
    done = subprocess.run(
        [_program(), *_OPTIONS, f"--user-data-dir={folder / 'browser'}", *options],
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def printed_pages(page: Path, folder: Path, paper: str = "") -> int:
    """Return on how many pages a page prints, on paper of a size such as ``A4`` or its own."""
    if paper:
        page, given = folder / f"on-{paper}.html", page.read_text("utf-8")
        page.write_text(
            given.replace("</style>", f"@page {{ size: {paper}; }}</style>", 1), "utf-8"
        )
    pdf = folder / "printed.pdf"
    _run(folder, "--no-pdf-header-footer", f"--print-to-pdf={pdf}", page.as_uri())
    return len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes()))


def measured(page: Path, folder: Path, width: int, script: str, *, printed: bool = False) -> float:
    """Return a number that a script finds in a page in a window so wide [px].

    Parameters
    ----------
    script : an expression on the document `d` of the page.
    printed : laid out as on paper.
    """
    frame, source = folder / "frame.html", page.read_text("utf-8")
    if printed:
        source = source.replace("@media print", "@media all")
    frame.write_text(
        f'<!doctype html><body><iframe style="border:0;width:{width}px;height:800px" '
        f'srcdoc="{html.escape(source)}"></iframe><script>onload = () => {{ '
        "const d = document.querySelector('iframe').contentDocument; "
        f"document.title = 'n=' + ({script}); }}</script>",
        "utf-8",
    )
    dumped = _run(folder, "--virtual-time-budget=2000", "--dump-dom", frame.as_uri())
    (found,) = re.findall(r"<title>n=([\d.]+)</title>", dumped)
    return float(found)


def width_at(page: Path, folder: Path, width: int) -> float:
    """Return how wide a page gets in a window so wide [px]; wider means scrolling sideways."""
    return measured(page, folder, width, "d.documentElement.scrollWidth")


def smallest_letters(page: Path, folder: Path, width: int) -> float:
    """Return the size of the smallest letters to be seen in a window so wide [px]."""
    size = (
        "Math.min(...[...d.body.querySelectorAll('*')]"
        ".filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()))"
        ".filter(e => e.getClientRects().length && !e.closest('title, desc'))"
        ".map(e => { const s = e.ownerSVGElement; "
        "return parseFloat(d.defaultView.getComputedStyle(e).fontSize) "
        "* (s ? s.getBoundingClientRect().width / s.viewBox.baseVal.width : 1); }))"
    )
    return measured(page, folder, width, size)
