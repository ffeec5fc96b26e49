"""Which figures got worse: those that moved the wrong way by more than their own noise and the baseline's."""

import json
from pathlib import Path
from typing import Any

from panchime.errors import PanchimeError
from panchime.measure.figure import Figure

# The same sum in another order may differ in its last digits.
EXACT = 1e-6


def read_baseline(path: Path) -> dict[str, Figure]:
    """The figures of a baseline by name; empty when there is no such file. Raises PanchimeError when it is no baseline."""
    if not path.is_file():
        return {}
    try:
        figures = [Figure(**entry) for entry in json.loads(path.read_text())]
    except (ValueError, TypeError) as error:
        raise PanchimeError(f"{path} is no baseline of the bench: {error}; write it anew with --write-baseline") from error
    return {figure.name: figure for figure in figures}


def as_json(figures: list[Figure]) -> str:
    """The figures as a JSON text: a list of objects, one figure each."""
    entries: list[dict[str, Any]] = [figure.as_json() for figure in figures]
    return json.dumps(entries, indent=1) + "\n"


def got_worse(now: Figure, then: Figure | None) -> bool:
    """Whether a figure got worse. One that is new, or was compared with something else before, did not."""
    if then is None or (now.ratio is None) != (then.ratio is None) or now.compared_with != then.compared_with:
        return False
    slack = abs(then.held) * (max(now.noise, then.noise) + EXACT) + EXACT
    return now.held > then.held + slack if now.less_is_better else now.held < then.held - slack


def renewed(baseline: dict[str, Figure], figures: list[Figure]) -> list[Figure]:
    """The baseline with these figures in place of those of their names; what was not measured now stays."""
    return list((baseline | {figure.name: figure for figure in figures}).values())
