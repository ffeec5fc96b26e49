"""What ties a board's clock to this computer's."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Anchor:
    """One moment in two clocks: the board's boot and milliseconds since, and UTC in milliseconds since 1970."""

    boot: int
    uptime_ms: int
    utc_ms: int
