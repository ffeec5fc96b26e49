"""When a roast happened, from what is known and no further.

A board has no clock that survives its plug. What it knows is its boot, a number that only grows, and the
milliseconds since. Every connection ties one such moment to the computer's clock (an anchor); a roast that
began after a connection of the same boot carries UTC in its own head.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from panchime.link.board import Anchor

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


def reconstruct(boot: int, uptime_ms: int, log_ms: int, head_utc_ms: int | None, anchors: Sequence[Anchor]) -> When:
    """When a roast began that has this boot and uptime, lasted ``log_ms``, and whose head may carry UTC.

    ``anchors`` are those of the same board. An anchor of the same boot makes the start exact; where several
    contradict one another (a computer's clock was wrong), their range is all that is said. Anchors of earlier
    and later boots only bound it.
    """
    if head_utc_ms is not None:
        return When(EXACT, head_utc_ms, head_utc_ms)
    same_boot = [anchor for anchor in anchors if anchor.boot == boot]
    if same_boot:
        return from_same_boot(uptime_ms, same_boot)
    # The board ran at an earlier anchor, was started anew after it, and then was on for uptime_ms.
    earliest = max((a.utc_ms + uptime_ms for a in anchors if a.boot < boot), default=None)
    # The roast was over when a later boot began.
    latest = min((a.utc_ms - a.uptime_ms - log_ms for a in anchors if a.boot > boot), default=None)
    if earliest is None and latest is None:
        return When(UNKNOWN)
    if earliest is not None and latest is not None and earliest > latest:
        return When(UNKNOWN)
    return When(BOUNDED, earliest, latest)


def from_same_boot(uptime_ms: int, anchors: Sequence[Anchor]) -> When:
    """The start by anchors of the roast's own boot: the nearest one's word, unless they contradict one another."""
    starts = [anchor.utc_ms - (anchor.uptime_ms - uptime_ms) for anchor in anchors]
    longest_span_ms = max(abs(anchor.uptime_ms - uptime_ms) for anchor in anchors)
    tolerance_ms = SETTING_ERROR_MS + longest_span_ms * DRIFT_PER_MILLION // 1_000_000
    if max(starts) - min(starts) > tolerance_ms:
        return When(BOUNDED, min(starts), max(starts))
    nearest = min(anchors, key=lambda anchor: abs(anchor.uptime_ms - uptime_ms))
    start = nearest.utc_ms - (nearest.uptime_ms - uptime_ms)
    return When(EXACT, start, start)
