"""A roast's story with the person's corrections of its marks; what the board recorded is kept beside."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panchime.journal.story import Story

CORRECTED = "corrected"
ADDED = "added"


@dataclass(frozen=True)
class Correction:
    """The person's word on one mark: when it was, ms since the start of the log; None strikes it out."""

    name: str
    t_ms: int | None


def corrected(story: "Story", corrections: Sequence[Correction]) -> "Story":
    """A story with the corrections applied.

    A corrected mark says in ``recorded_ms`` what the board had; those struck out stand in ``struck_marks``. What hangs on
    marks (stages, rate of rise since beans in) follows.
    """
    if not corrections:
        return story
    from panchime.journal.story import Mark

    recorded = {mark.name: mark for mark in story.marks}
    told = dict(recorded)
    struck = []
    for correction in corrections:
        before = recorded.get(correction.name)
        if correction.t_ms is None:
            told.pop(correction.name, None)
            struck += [before] if before else []
            continue
        told[correction.name] = Mark(
            correction.name,
            correction.t_ms,
            CORRECTED if before else ADDED,
            story.temperature_at(correction.t_ms),
            before.t_ms if before else None,
        )
    marks = sorted(told.values(), key=lambda mark: mark.t_ms)
    return replace(story, marks=marks, struck_marks=struck)
