"""What the rules allow and a person hardly means: warnings about a plan, never mistakes."""

import difflib
from typing import Any

from panchime_fw import plan as rules
from panchime_fw import units
from panchime_fw.mark_names import DEFAULT_MARKS
from panchime_fw.plan import compile_plan

# Light roasts end at 195 to 210 degC (common practice, no source): a limit below that ends every roast.
LOWEST_USEFUL_LIMIT_CENTI = 20000


def doubts(document: dict[str, Any]) -> list[str]:
    """One sentence for each doubt about a checked plan."""
    plan = compile_plan(document)
    unit = document.get("unit", units.CELSIUS)
    limit = units.words(plan.limit_centi, unit)
    found = []
    if plan.limit_centi < LOWEST_USEFUL_LIMIT_CENTI:
        guess = " Are these degrees Celsius under unit F?" if unit == units.FAHRENHEIT else ""
        found.append(f"the limit of {limit} lies below where any roast ends, about 195 C (383 F).{guess}")
    for milestone in plan.milestones:
        if milestone.trigger in (rules.RISES_TO, rules.AHEAD) and milestone.value >= plan.limit_centi:
            reached = units.words(milestone.value, unit)
            found.append(f"'{milestone.label}' waits for {reached}, and the limit of {limit} comes first: it will never sound")
    for mark in plan.marks:
        near = difflib.get_close_matches(mark, DEFAULT_MARKS, 1, 0.75)
        if near and mark not in DEFAULT_MARKS:
            found.append(f"the mark '{mark}' is not '{near[0]}': the shares of the roast are told only by the usual names")
    return found
