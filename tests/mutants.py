"""Which deliberate mistakes the tests notice: mutation testing, one module at a time.

    python tests/mutants.py [MODULE ...] [--workers 2] [--show]

Needs the extra `mutation`. Each module is mutated in a copy of the tree and tried against the
tests named for it alone, so that a promise is held where it is written down and not by chance
elsewhere. Property tests draw few and always the same examples (`TREADGATE_EXAMPLES=mutation`).
Prints a line a module and the names of what survived, with `--show` as a difference.

Functions with a decorator (cached ones, properties) are not mutated: mutmut leaves them out.
"""

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

from mutmut.stats import status_by_exit_code

ROOT = Path(__file__).parents[1]
NEEDED = ("planner", "rules", "sample_plans", "tests", "README.md", "DEVELOPERS.md")

CHASSIS = (
    "air",
    "ballast",
    "grip",
    "jacking",
    "loads",
    "pressure",
    "springs",
    "stagger",
    "tire_size",
    "weights",
)
TESTS = {
    "planner/trade/figures.py": ("tests/test_figures.py",),
    "planner/judging/expected.py": ("tests/test_expected.py",),
    "planner/judging/patterns.py": ("tests/test_patterns.py", "tests/test_pattern_words.py"),
    "planner/advice/together.py": ("tests/test_together.py",),
    "planner/advice/choices.py": ("tests/test_together.py",),
    "planner/advice/do_now.py": ("tests/test_noise_and_gate.py", "tests/test_candidates.py"),
    "planner/plan/machine.py": ("tests/test_stages.py",),
    "planner/learning/reading_noise.py": ("tests/test_reading_noise.py",),
    "planner/learning/layout.py": ("tests/test_response.py",),
    "planner/learning/posterior.py": ("tests/test_response.py",),
    "planner/learning/response.py": ("tests/test_response.py",),
    "planner/chassis/checks.py": ("tests/chassis/test_loads.py", "tests/chassis/test_weights.py"),
    "planner/chassis/axle.py": ("tests/chassis/test_loads.py",),
    "planner/chassis/changed.py": ("tests/chassis/test_grip.py",),
    "planner/chassis/mid_turn.py": ("tests/chassis/test_mid_turn.py",),
    **{f"planner/chassis/{name}.py": (f"tests/chassis/test_{name}.py",) for name in CHASSIS},
}

CONFIG = """
[tool.mutmut]
source_paths = ["planner"]
only_mutate = ["{module}"]
also_copy = ["rules", "sample_plans", "tests", "README.md", "DEVELOPERS.md"]
pytest_add_cli_args = ["-p", "no:cacheprovider", "-n0"]
pytest_add_cli_args_test_selection = {tests}
"""


def laid_out(module: str, folder: Path) -> None:
    """Copy what the tests need into a folder, and say there what is to be mutated."""
    for name in NEEDED:
        copy = shutil.copytree if (ROOT / name).is_dir() else shutil.copy
        copy(ROOT / name, folder / name)
    config = CONFIG.format(module=module, tests=json.dumps(TESTS[module]))
    text = (ROOT / "pyproject.toml").read_text("utf-8") + config
    (folder / "pyproject.toml").write_text(text, "utf-8")


def mutmut(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run mutmut in a folder."""
    return subprocess.run(
        [sys.executable, "-m", "mutmut", *words],
        cwd=folder,
        env=os.environ | {"TREADGATE_EXAMPLES": "mutation", "PYTHONPATH": "."},
        capture_output=True,
        text=True,
        check=False,
    )


def tried(module: str, workers: int, show: bool) -> Iterator[str]:
    """Mutate one module; yield what came of it, line by line."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        laid_out(module, folder)
        ran = mutmut(folder, "run", "--max-children", str(workers))
        meta = folder / "mutants" / f"{module}.meta"
        if not meta.exists():
            yield f"{module}: mutmut failed\n{ran.stdout[-2000:]}{ran.stderr[-2000:]}"
            return
        codes = json.loads(meta.read_text("utf-8"))["exit_code_by_key"]
        ends = {mutant: status_by_exit_code[code] for mutant, code in codes.items()}
        count = Counter(ends.values())
        noticed = count["killed"] + count["timeout"]
        others = {end: n for end, n in count.items() if end not in ("killed", "timeout")}
        yield f"{module}: {noticed} of {len(ends)} noticed, {noticed / len(ends):.1%} {others}"
        for mutant, end in sorted(ends.items()):
            if end not in ("killed", "timeout"):
                yield f"    {mutant.removeprefix('planner.')}: {end}"
                if show:
                    yield mutmut(folder, "show", mutant).stdout


def main(given: Sequence[str] | None = None) -> None:
    """Read the options, try, print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("module", nargs="*", help="such as planner/figures.py; all when left out")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--show", action="store_true", help="what survived, as a difference")
    asked = parser.parse_args(given)
    for module in asked.module or TESTS:
        if module not in TESTS:
            parser.error(f"{module}: no tests are named for it; one of {', '.join(TESTS)}")
        for line in tried(module, asked.workers, asked.show):
            print(line, flush=True)  # noqa: T201


if __name__ == "__main__":
    main()
