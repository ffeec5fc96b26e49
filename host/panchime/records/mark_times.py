"""The time of a mark as a person types it."""

import re

from panchime.errors import PanchimeError
from panchime.journal.story import Story
from panchime_fw.plan import BEANS_IN


def mark_t_ms(story: Story, text: str) -> int:
    """Milliseconds since the start of the log of a time such as ``8:42``, which counts as 'show' counts: from beans in.

    ``@10:12`` counts from the start of the log, as does everything where beans in is not marked. Raises PanchimeError
    when it is no time, or lies outside the log.
    """
    found = re.fullmatch(r"(@?)\s*(-?)(?:(\d{1,3}):)?(\d{1,5}(?:\.\d{1,3})?)", text.strip())
    seconds = float(found[4]) if found else 0.0
    if found is None or (found[3] is not None and seconds >= 60):
        raise PanchimeError(f"{text!r} is no time: write minutes and seconds like 8:42, or @10:12 from the start of the log")
    t_ms = round((60 * int(found[3] or 0) + seconds) * 1000) * (-1 if found[2] else 1)
    beans_in = story.mark(BEANS_IN)
    if beans_in and not found[1]:
        t_ms += beans_in.t_ms
    first_ms = min(story.t_ms[:1], default=0)
    if not min(first_ms, 0) <= t_ms <= story.end_ms:
        raise PanchimeError(f"{text!r} lies outside the log, which lasts {clock(story.end_ms)} from its start")
    return t_ms


def clock(ms: int) -> str:
    """Minutes and seconds."""
    return f"{ms // 60000}:{ms // 1000 % 60:02d}"
