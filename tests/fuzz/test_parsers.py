"""The parsers take or refuse every seed, every part of a seed, and everything ever found."""

import contextlib
import subprocess
import sys
import time
from pathlib import Path

import pytest
import targets

from planner.trade.refusals import Refusal

PATIENCE = 5.0  # s of the processor's work

# What once made a parser fall over or take its time, by the target.
FOUND: tuple[tuple[str, bytes], ...] = (
    ("typed", b"5" + b" " * 1000 + b"x"),  # the unit of a temperature was looked for by cubes
    ("typed", b"note" + b" " * 50_000 + b";x"),
    ("typed", b"LF" + b" ," * 5000 + b"="),
    ("typed", b"camber:RF:" + b"9" * 5000),
    ("typed", "٣/２/1".encode()),
    ("rules", b"format = 0x" + b"f" * 5000),
    ("rules", b"laps = 0x" + b"f" * 5000),
    ("rules", b"[adjustment.camber]\neffect = {'split.same' = {mean = 1e308, sd = 1e308}}\n"),
    ("car", b"[limits]\ncamber = {step = 5e-324}\n"),
    ("car", b"[scales]\nLF = 1e308\nRF = 1e308\nLR = 1e308\nRR = 1e308\n"),
    ("taught", b"format = 0x" + b"f" * 5000),
    ("table", b"LF_in,LF_mid\n\x00"),
    ("table", b"a," * 100_000),
    ("table", b'"' + b"x" * 200_000),
    ("shown", b"\xff\xed\xa0\x80"),
)


def read(name: str, content: bytes) -> None:
    began = time.process_time()
    with contextlib.suppress(Refusal):
        targets.TARGETS[name](content)
    took = time.process_time() - began
    assert took < PATIENCE, f"{took:.1f} s"


@pytest.mark.parametrize("name", targets.TARGETS)
def test_every_seed_is_taken_whole_and_taken_or_refused_in_part(name: str) -> None:
    for seed in targets.seeds(name):
        read(name, seed)
        for part in range(1, 8):
            cut = len(seed) * part // 8
            read(name, seed[:cut])
            read(name, seed[cut:])
            read(name, seed[:cut] + b"\xff\x00" + seed[cut:])


@pytest.mark.parametrize(
    "name", [name for name in targets.TARGETS if name not in ("table", "typed")]
)
def test_the_seeds_are_good(name: str) -> None:
    for seed in targets.seeds(name):
        targets.TARGETS[name](seed)


@pytest.mark.parametrize(("name", "content"), FOUND, ids=range(len(FOUND)))
def test_what_was_found_is_mended(name: str, content: bytes) -> None:
    read(name, content)


def test_the_fuzzer_runs_without_its_library() -> None:
    script = Path(__file__).with_name("parsers.py")
    done = subprocess.run(
        [sys.executable, script, "--unguided", "--seconds", "0.5", "car", "typed"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert "car: " in done.stdout
    assert "nothing found" in done.stdout
