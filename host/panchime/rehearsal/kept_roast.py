"""A plan over a kept roast: its readings and its marks, the board's engine, and what it makes of them."""

from typing import Any

from panchime.journal.story import SOURCE_WORDS, Mark, Story
from panchime.rehearsal.bench import MARKED, START_MS, Bench
from panchime.rehearsal.rehearsal import Rehearsal, rehearsal_of
from panchime_fw import faults
from panchime_fw.events import FOUND
from panchime_fw.plan import BEANS_IN, BEANS_OUT
from panchime_fw.roast import LINK, REFUSED

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
    marks = [mark for mark in story.marks if not is_found_again(mark)]
    foreign = []
    for t_ms, centi, cold_centi, fault in slots:
        while marks and marks[0].t_ms <= t_ms:
            mark = marks.pop(0)
            if not made(bench, mark.name, START_MS + mark.t_ms):
                foreign.append(mark.name)
        bench.sample(START_MS + t_ms, centi, cold_centi, fault)
    made_marks = {happening.words for happening in bench.happenings if happening.kind == MARKED}
    foreign += [mark.name for mark in story.marks if mark.name not in made_marks and mark.name not in foreign]
    return rehearsal_of(bench, over, tuple(foreign))


def is_found_again(mark: Mark) -> bool:
    """Whether the board found a mark in the curve: it finds it in the same curve again."""
    return mark.source == SOURCE_WORDS[FOUND] and mark.name in (BEANS_IN, BEANS_OUT)


def made(bench: Bench, name: str, at_ms: int) -> bool:
    """Makes a mark as over the link; False when the plan has none of that name, or it comes out of turn."""
    if name not in bench.plan.marks:
        return False
    index = bench.plan.marks.index(name)
    at_ms = max(at_ms, bench.now_ms)
    return bool(bench.session.mark(index, LINK, at_ms, at_ms) != REFUSED)
