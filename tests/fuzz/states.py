"""Plans at every point of a day, for the tests of this folder."""

from collections.abc import Callable
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from garage import RF_INNER_HOT, TIGHT, Crew, tires

SAMPLES = Path(__file__).parents[2] / "sample_plans"
ROOT = Path(__file__).parents[2]


def _begun(crew: Crew, *options: object) -> Crew:
    crew.start(*options)
    return crew


def _with_run(crew: Crew, *options: object) -> Crew:
    _begun(crew, *options).record(RF_INNER_HOT)
    return crew


def _chosen(crew: Crew) -> Crew:
    _with_run(crew).choose(1)
    return crew


def _made(crew: Crew) -> Crew:
    _chosen(crew).made()
    return crew


def _confirming(crew: Crew) -> Crew:
    assert _made(crew).record(tires())["stage"] == "confirm"
    return crew


def _complete(crew: Crew) -> Crew:
    assert _confirming(crew).record(tires())["stage"] == "complete"
    return crew


def _with_trims(crew: Crew) -> Crew:
    _begun(crew).record(tires(TIGHT, {"RF": 20.0}))
    crew.changed()
    crew.record(tires(TIGHT, {"RF": 6.0}))
    assert any(change["trim"] for change in crew.status()["candidates"][0]["changes"])
    return crew


def _worn(crew: Crew) -> Crew:
    """In band everywhere, but the left front wears more than twice as fast as the others."""
    worn = [f"{corner}=7/7/7" for corner in ("RF", "LR", "RR")] + ["LF=5.5/5.5/5.5"]
    new = [f"{corner}=8/8/8" for corner in ("LF", "RF", "LR", "RR")]
    treads = [f"--tread={each}" for each in worn] + [f"--tread-before={each}" for each in new]
    _begun(crew).record(tires(), *treads)
    assert crew.status()["candidates"]
    return crew


def _little_air(crew: Crew) -> Crew:
    _begun(crew).record(RF_INNER_HOT, "--cold", "LF=10.5")
    return crew


def _spoiled(crew: Crew) -> Crew:
    _begun(crew).record(RF_INNER_HOT, "--flag", "lockup")
    return crew


MADE: dict[str, Callable[[Crew], Crew]] = {
    "fresh": _begun,
    "metric": lambda crew: _begun(crew, "--units", "metric", "--turns", "right"),
    "choice": _with_run,
    "car": lambda crew: _with_run(crew, "--car", SAMPLES / "river-bend-car.toml"),
    "road": lambda crew: _with_run(crew, "--rules", "road-course", "--turns", "both"),
    "change": _chosen,
    "made": _made,
    "confirm": _confirming,
    "complete": _complete,
    "trims": _with_trims,
    "offer": _worn,
    "spoiled": _spoiled,
    "little air": _little_air,
}


@cache
def plan(state: str) -> bytes:
    """Return the file of a plan in that state."""
    with TemporaryDirectory() as folder:
        return MADE[state](Crew(Path(folder) / "day.toml")).path.read_bytes()
