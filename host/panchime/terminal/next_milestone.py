"""Which milestone of temperature comes next, and about when."""

from dataclasses import dataclass
from typing import Any

from panchime_fw import plan as rules
from panchime_fw import stages


@dataclass(frozen=True)
class Ahead:
    """The milestone that comes next by temperature; ``in_ms`` at the present rate, None when it is not moving there."""

    label: str
    at_centi: int
    in_ms: int | None


def next_milestone(
    document: dict[str, Any], stage: str, temperature_c: float | None, rate_c_per_min: float | None, happened: set[str]
) -> Ahead | None:
    """The nearest milestone above (or, for a falling one, below) the temperature that has not happened in this stage.

    Milestones of time, rate and share are not counted: when they come does not lie in the temperature.
    """
    if temperature_c is None or rules.check(document):
        return None
    now_centi = round(temperature_c * 100)
    candidates = []
    for milestone in rules.compile_plan(document).milestones:
        in_stage = milestone.stage == stages.ANY or stages.NAMES[milestone.stage] == stage
        if milestone.label in happened or not in_stage:
            continue
        rises = milestone.trigger in (rules.RISES_TO, rules.AHEAD) and milestone.value > now_centi
        falls = milestone.trigger == rules.FALLS_TO and milestone.value < now_centi
        if rises or falls:
            candidates.append(milestone)
    if not candidates:
        return None
    nearest = min(candidates, key=lambda milestone: abs(milestone.value - now_centi))
    distance_c = (nearest.value - now_centi) / 100
    in_ms = None
    if rate_c_per_min and distance_c / rate_c_per_min > 0:
        in_ms = round(distance_c / rate_c_per_min * 60000)
        if nearest.trigger == rules.AHEAD:
            in_ms = max(0, in_ms - nearest.value_2)
    return Ahead(nearest.label, nearest.value, in_ms)
