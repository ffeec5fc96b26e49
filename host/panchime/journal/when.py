"""When a roast happened, from what is known and no further.

A board has no clock that survives its plug. What it knows is its boot, a number that only grows, and the
milliseconds since. Every connection ties one such moment to the computer's clock (an anchor); a roast that
began after a connection of the same boot carries UTC in its own head.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from panchime.link.anchor import Anchor

# A Pico's crystal is good to 30 ppm (from memory); five times that covers heat. Two seconds cover a clock set to whole
# seconds and a slow answer.
DRIFT_PER_MILLION = 150
SETTING_ERROR_MS = 2000

EXACT = "exact"
BOUNDED = "bounded"
UNKNOWN = "unknown"


@dataclass(frozen=True)
class When:
    """A roast's start, UTC in ms since 1970: exact (both ends the same), bounded (one may be missing), or unknown."""

    kind: str
    from_utc_ms: int | None = None
    to_utc_ms: int | None = None


class Clock:
    """What the anchors of one board say about time.

    Anchors that contradict one another - a computer's clock was wrong, or the board's time ran at another speed - say nothing,
    for nobody can tell which of them is right.
    """

    def __init__(self, anchors: Sequence[Anchor]) -> None:
        self._sound = without_contradictions(anchors)
        self._boots = {anchor.boot for anchor in anchors}

    def when(self, boot: int, uptime_ms: int, log_ms: int, head_utc_ms: int | None) -> When:
        """When a roast began that has this boot and uptime, lasted ``log_ms``, and whose head may carry UTC.

        An anchor of the same boot makes the start exact; anchors of earlier and later boots only bound it.
        """
        if head_utc_ms is not None:
            return When(EXACT, head_utc_ms, head_utc_ms)
        same_boot = [anchor for anchor in self._sound if anchor.boot == boot]
        if same_boot:
            nearest = min(same_boot, key=lambda anchor: abs(anchor.uptime_ms - uptime_ms))
            start = nearest.utc_ms - (nearest.uptime_ms - uptime_ms)
            return When(EXACT, start, start)
        if boot in self._boots:
            return When(UNKNOWN)
        # The board ran at an earlier anchor, was started anew after it, and then was on for uptime_ms.
        before = [anchor.utc_ms + uptime_ms - error_ms(uptime_ms) for anchor in self._sound if anchor.boot < boot]
        # The roast was over when a later boot began.
        after = [
            begin_ms(anchor) - log_ms + error_ms(anchor.uptime_ms + log_ms) for anchor in self._sound if anchor.boot > boot
        ]
        earliest, latest = max(before, default=None), min(after, default=None)
        if (earliest is None and latest is None) or (earliest is not None and latest is not None and earliest > latest):
            return When(UNKNOWN)
        return When(BOUNDED, earliest, latest)


def error_ms(span_ms: int) -> int:
    """How far UTC and the board's own time may differ over a span, both being right."""
    return SETTING_ERROR_MS + abs(span_ms) * DRIFT_PER_MILLION // 1_000_000


def begin_ms(anchor: Anchor) -> int:
    """UTC of the boot an anchor belongs to, by that anchor."""
    return anchor.utc_ms - anchor.uptime_ms


def without_contradictions(anchors: Sequence[Anchor]) -> list[Anchor]:
    """The anchors that contradict no other one. Of two that do, neither is believed."""
    boots: dict[int, list[Anchor]] = {}
    for anchor in anchors:
        boots.setdefault(anchor.boot, []).append(anchor)
    ordered = sorted(boots)
    # No boot begins before a moment at which an earlier one was still seen running.
    last_seen: dict[int, float] = {}
    seen = -math.inf
    for boot in ordered:
        last_seen[boot] = seen
        seen = max(seen, *(anchor.utc_ms for anchor in boots[boot]))
    next_begin: dict[int, float] = {}
    begun = math.inf
    for boot in reversed(ordered):
        next_begin[boot] = begun
        begun = min(begun, *(begin_ms(anchor) + error_ms(anchor.uptime_ms) for anchor in boots[boot]))
    sound = []
    for boot in ordered:
        ends = (min(boots[boot], key=begin_ms), max(boots[boot], key=begin_ms))
        for anchor in boots[boot]:
            agrees = all(abs(begin_ms(anchor) - begin_ms(end)) <= error_ms(anchor.uptime_ms - end.uptime_ms) for end in ends)
            in_order = begin_ms(anchor) + error_ms(anchor.uptime_ms) >= last_seen[boot] and anchor.utc_ms <= next_begin[boot]
            if agrees and in_order:
                sound.append(anchor)
    return sound
