"""How a trip is told: a heater on the relay was cut off; over a flame nothing was, and the alarm is all there is."""

from typing import TYPE_CHECKING, Any

from panchime_fw import trips
from panchime_fw.mark_names import BEANS_IN, BEANS_OUT

if TYPE_CHECKING:
    from panchime.journal.story import Story, Trip

HOT_AIR_POPPER = "hot-air popper"


def drives_heater(plan: dict[str, Any]) -> bool:
    """Whether the relay switches the heater, by the plan; one that does not say so drives none, as on the board."""
    return plan.get("heater_on_relay") is True


def limit_name(plan: dict[str, Any]) -> str:
    """What stands beside the limit."""
    return "cut off at" if drives_heater(plan) else "alarm at"


def heading(plan: dict[str, Any], beans_on_heat: bool) -> str:
    """What a trip has done, in a few capitals."""
    if drives_heater(plan):
        return "CUT OFF"
    return "ALARM, HEAT STILL ON" if beans_on_heat else "ALARM"


def told_briefly(plan: dict[str, Any]) -> str:
    """A trip of the past."""
    return "the cutoff tripped" if drives_heater(plan) else "the alarm sounded"


def told_at(plan: dict[str, Any], moment: str) -> str:
    """A trip of the past, with its moment."""
    return f"{told_briefly(plan)} at {moment}" + ("" if drives_heater(plan) else " (no heater on the relay)")


def advice(reason: int, beans_in_popper: bool) -> str:
    """What to do: a popper's beans first, unless its heater is still on."""
    words = trips.ADVICE.get(reason, "")
    if not beans_in_popper:
        return words
    first, second = (words, trips.TIP_OUT_ADVICE) if reason == trips.RELAY_WELDED else (trips.TIP_OUT_ADVICE, words)
    return f"{first} {second}".strip()


def beans_in_popper(plan: dict[str, Any], reason: int, beans_are_in: bool) -> bool:
    """Whether hot beans lie in a popper whose heater, and maybe fan, the relay has cut off: as the board judges it."""
    popper = drives_heater(plan) and plan.get("method") == HOT_AIR_POPPER
    return popper and (beans_are_in or reason == trips.RESET_IN_ROAST)


def advice_then(story: "Story", trip: "Trip") -> str:
    """What to do about a trip of a kept roast, as it was when it came."""
    begin, end = story.mark(BEANS_IN), story.mark(BEANS_OUT)
    were_in = begin is not None and begin.t_ms <= trip.t_ms and (end is None or trip.t_ms < end.t_ms)
    return advice(trip.reason, beans_in_popper(story.plan, trip.reason, were_in))
