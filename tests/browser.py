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


def printed_pages(page: Path, folder: Path) -> int:
    """Return on how many pages a page prints."""
    pdf = folder / "printed.pdf"
    _run(folder, "--no-pdf-header-footer", f"--print-to-pdf={pdf}", page.as_uri())
    return len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes()))


def width_at(page: Path, folder: Path, width: int) -> int:
    """Return how wide a page gets in a window so wide [px]; wider means scrolling sideways."""
    frame = folder / "frame.html"
    inside = html.escape(page.read_text("utf-8"))
    frame.write_text(
        f'<!doctype html><body><iframe style="border:0;width:{width}px;height:800px" '
        f'srcdoc="{inside}" onload="document.title = '
        "'w=' + this.contentDocument.documentElement.scrollWidth"
        '"></iframe></body>',
        "utf-8",
    )
    (found,) = re.findall(r"<title>w=(\d+)</title>", _run(folder, "--dump-dom", frame.as_uri()))
    return int(found)
