"""Two runs side by side, as JSON."""

from typing import Any

import attrs

from planner.review.timeline import RunSeen
from planner.review.two_runs import Against
from planner.run.lap_times import LapComparison
from planner.words import runs


def as_dict(compared: Against) -> dict[str, Any]:
    """Return the comparison as it goes into JSON."""
    return {
        "runs": [_run(compared.one), _run(compared.other)],
        "readings": {
            corner: {"one": list(one), "other": list(other)}
            for corner, one, other in compared.readings()
        },
        "figures": {
            each.figure: {
                "one": round(each.one, 4),
                "other": round(each.other, 4),
                "difference": round(each.difference, 4),
                "error": round(each.error, 4),
                "differs": each.differs,
            }
            for each in compared.figures
        },
        "settings": [attrs.asdict(each) for each in compared.settings],
        "conditions": [attrs.asdict(each) for each in compared.conditions],
        "lap_times": None if compared.laps is None else _laps(compared.laps),
    }


def _run(run: RunSeen) -> dict[str, Any]:
    return {
        "run": run.number,
        "step": run.step,
        "time": run.recorded.time.isoformat(),
        "void": runs.void(run.recorded.void),
    }


def _laps(compared: LapComparison) -> dict[str, Any]:
    return {
        "difference": round(compared.difference, 4),
        "error": None if compared.error is None else round(compared.error, 4),
        "p": round(compared.p, 4),
        "verdict": compared.verdict,
    }
