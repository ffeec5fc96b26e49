"""What lists and the journal's columns say of a roast, worked out once when it is kept."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panchime_fw.mark_names import BEANS_OUT

if TYPE_CHECKING:
    from panchime.journal.story import Mark, Story

COMPLETE = "complete"
INTERRUPTED = "interrupted"
TRIPPED = "tripped"
RUNNING = "running"


@dataclass(frozen=True)
class Summary:
    """A roast in one line. ``end_centi`` is the reading at beans out, None when that was not marked."""

    board_serial: str
    board_model: str
    firmware: str
    boot: int
    uptime_ms: int
    head_utc_ms: int | None
    plan_name: str
    method: str
    unit: str
    log_ms: int
    roast_ms: int | None
    end_centi: int | None
    peak_centi: int | None
    marks: "tuple[Mark, ...]"
    state: str
    trip: str | None
    problems: tuple[str, ...]


def summarise(story: "Story", running: bool) -> Summary:
    """The summary of a story; ``running`` says that the board was still roasting it when it was fetched."""
    beans_out = story.mark(BEANS_OUT)
    return Summary(
        board_serial=story.board_serial,
        board_model=story.board_model,
        firmware=story.firmware,
        boot=story.boot,
        uptime_ms=story.uptime_ms,
        head_utc_ms=story.head_utc_ms,
        plan_name=story.plan_name,
        method=story.method,
        unit=story.unit,
        log_ms=story.end_ms,
        roast_ms=story.roast_ms,
        end_centi=beans_out.temperature_centi if beans_out else None,
        peak_centi=story.peak_centi,
        marks=tuple(story.marks),
        state=state_of(story, running),
        trip=story.trips[0].words if story.trips else None,
        problems=(*story.problems, *story.lost),
    )


def state_of(story: "Story", running: bool) -> str:
    """A trip stands before everything else; a log without an end is interrupted, unless it is still being written."""
    if story.trips:
        return TRIPPED
    if story.end_reason is not None:
        return COMPLETE
    return RUNNING if running else INTERRUPTED
