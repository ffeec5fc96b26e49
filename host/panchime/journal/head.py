"""What a log's head says, without the samples behind it."""

from typing import Any

from panchime_fw.units import CELSIUS, FAHRENHEIT


def plan_unit(raw: bytes) -> str:
    """The unit in a log's plan, "C" or "F"; "C" where the head cannot be read."""
    from panchime_fw import logreader
    from panchime_fw.logformat import head_length

    head = logreader.decode(raw[: head_length(raw)]).head
    return unit_of(head.get("plan")) if head else CELSIUS


def unit_of(plan: Any) -> str:
    """The unit of a plan's document; the board itself knows no third."""
    return FAHRENHEIT if isinstance(plan, dict) and plan.get("unit") == FAHRENHEIT else CELSIUS
