"""Fuzzes the parsers: ``python tests/fuzz/parsers.py --seconds 60 [TARGET ...]``.

With atheris (the extra ``fuzz``, on Linux) it is guided by what of the program is reached; without
it the seeds are changed at random. What is found is printed with the bytes that did it, to be put
into ``test_parsers.FOUND`` once it is mended.
"""

import argparse
import contextlib
import importlib.util
import random
import subprocess
import sys
import tempfile
import time
import traceback
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests"), str(Path(__file__).parent)]

SLOW = 5.0  # s of work; one file that takes longer is a find too
LONGEST = 40_000  # bytes; the longest seed is half of it


def guided(name: str, seconds: float) -> int:
    """Run one target under atheris; it ends this process itself."""
    import atheris

    with atheris.instrument_imports(include=["planner", "tomllib", "csv"]):
        import targets

        from planner.trade.refusals import Refusal

    def once(content: bytes) -> None:
        with contextlib.suppress(Refusal):
            targets.TARGETS[name](content)

    with tempfile.TemporaryDirectory() as folder:
        for number, seed in enumerate(targets.seeds(name)):
            (Path(folder) / f"{number}").write_bytes(seed)
        limits = [
            f"-max_total_time={int(seconds)}",
            f"-timeout={int(SLOW * 4)}",
            "-rss_limit_mb=2048",
            f"-max_len={LONGEST}",
        ]
        quiet = [
            "-verbosity=0",
            "-print_final_stats=1",
            f"-artifact_prefix={tempfile.gettempdir()}/",
        ]
        atheris.Setup([sys.argv[0], *limits, *quiet, folder], once)
        atheris.Fuzz()
    return 0


def unguided(name: str, seconds: float) -> int:
    """Run one target on seeds changed at random."""
    import targets

    from planner.trade.refusals import Refusal

    chance, seeds = random.Random(name), list(targets.seeds(name))
    ends, tried = time.monotonic() + seconds, 0
    while time.monotonic() < ends:
        content, tried = _changed(chance, chance.choice(seeds)), tried + 1
        began = time.process_time()
        try:
            with contextlib.suppress(Refusal):
                targets.TARGETS[name](content)
        except Exception:
            traceback.print_exc()
            sys.stdout.write(f"{name} fell over {content!r}\n")
            return 1
        if time.process_time() - began > SLOW:
            sys.stdout.write(f"{name} took too long for {content!r}\n")
            return 1
    sys.stdout.write(f"{name}: {tried} files, nothing found\n")
    return 0


def _changed(chance: random.Random, seed: bytes) -> bytes:
    """Return a seed with some bytes, numbers or lines changed, doubled or left out."""
    lines = seed.splitlines(keepends=True)
    for _ in range(chance.randint(1, 4)):
        at = chance.randrange(len(lines)) if lines else 0
        what = chance.randrange(6)
        if not lines or what == 0:
            lines.insert(at, bytes(chance.randrange(256) for _ in range(chance.randint(1, 20))))
        elif what == 1:
            del lines[at]
        elif what == 2:
            lines.insert(chance.randrange(len(lines)), lines[at])
        else:
            line = bytearray(lines[at])
            spot = chance.randrange(len(line)) if line else 0
            new = chance.choice(
                [b"nan", b"-1", b"1e308", b"9" * 30, b'"', b"[", b"{", b"\xff", b"\0", b"="]
            )
            line[spot : spot + chance.randint(0, 3)] = (
                new if what < 5 else bytes([chance.randrange(256)])
            )
            lines[at] = bytes(line)
    return b"".join(lines)


def main() -> int:
    read = argparse.ArgumentParser(description=__doc__)
    read.add_argument("target", nargs="*", help="of targets.TARGETS; all of them without one")
    read.add_argument("--seconds", type=float, default=30.0, help="for each target")
    read.add_argument("--unguided", action="store_true", help="without atheris")
    read.add_argument("--inside", action="store_true", help=argparse.SUPPRESS)
    given = read.parse_args()
    if given.inside:  # before anything of the program is loaded, so that it is watched
        (name,) = given.target
        return guided(name, given.seconds)
    from targets import TARGETS

    without = given.unguided or importlib.util.find_spec("atheris") is None
    failed = []
    for name in given.target or TARGETS:
        if without:
            status = unguided(name, given.seconds)
        else:
            inside = [sys.executable, __file__, name, "--inside", "--seconds", str(given.seconds)]
            status = subprocess.run(inside, check=False).returncode
        failed += [name] if status else []
    sys.stdout.write(f"found in: {', '.join(failed) or 'nothing'}\n")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
