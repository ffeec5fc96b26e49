"""A plan over a kept roast: its readings and its marks, the board's engine, and what it makes of them."""

from typing import Any

from panchime.journal.story import SOURCE_WORDS, Mark, Story
from panchime.rehearsal.bench import MARKED, START_MS, Bench
from panchime.rehearsal.rehearsal import Rehearsal, rehearsal_of
from panchime_fw import faults
from panchime_fw.events import FOUND
from panchime_fw.plan import BEANS_IN, BEANS_OUT
from panchime_fw.roast import LINK

# A log without cold-junction readings (a thermometer's) tells nothing of the amplifier: this is a room's.
ROOM_CENTI = 2500


def over_kept_roast(document: dict[str, Any], story: Story, over: str) -> Rehearsal:
    """What the board would have done in a roast with this plan.

    ``document`` has no mistakes. Marks that the board found in the curve are found again; those that a person made are made
    at their time. What the person would have done at other cues, nobody knows.
    """
    bench = Bench(document)
    slots = sorted(
        [
            *(
                (t_ms, centi, ROOM_CENTI if cold is None else cold, faults.NONE)
                for t_ms, centi, cold in zip(story.t_ms, story.temperature_centi, story.cold_centi, strict=True)
            ),
            *((t_ms, None, ROOM_CENTI, fault) for t_ms, fault in story.no_reading),
        ],
        key=lambda slot: slot[0],
    )
    first = next((slot for slot in slots if slot[1] is not None), None)
    if first is None:
        return rehearsal_of(bench, over, refused="the log holds no readings")
    bench.sample(START_MS, first[1], first[2])
    refused = bench.session.why_not_start(START_MS)
    if refused:
        return rehearsal_of(bench, over, refused=refused)
    bench.session.start(START_MS)
    marks = sorted((mark for mark in story.marks if not is_found_again(mark)), key=taken_ms)
    for t_ms, centi, cold_centi, fault in slots:
        while marks and taken_ms(marks[0]) <= t_ms:
            make(bench, marks.pop(0))
        bench.sample(START_MS + t_ms, centi, cold_centi, fault)
    made_marks = {happening.words for happening in bench.happenings if happening.kind == MARKED}
    return rehearsal_of(bench, over, tuple(mark.name for mark in story.marks if mark.name not in made_marks))


def is_found_again(mark: Mark) -> bool:
    """Whether the board found a mark in the curve: it finds it in the same curve again."""
    return mark.source == SOURCE_WORDS[FOUND] and mark.name in (BEANS_IN, BEANS_OUT)


def taken_ms(mark: Mark) -> int:
    """When the board takes a mark: as it did, or at once where no board did."""
    return mark.t_ms if mark.noted_ms is None else mark.noted_ms


def make(bench: Bench, mark: Mark) -> None:
    """Makes a mark as over the link, when the plan has one of that name and its turn has come."""
    if mark.name in bench.plan.marks:
        index = bench.plan.marks.index(mark.name)
        bench.session.mark(index, LINK, START_MS + mark.t_ms, START_MS + taken_ms(mark))
