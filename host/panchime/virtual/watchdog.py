"""The board's watchdog: once started it cannot be stopped, and only feeding keeps the board alive."""


class Watchdog:
    """Deadlines in virtual time."""

    def __init__(self) -> None:
        self.timeout_us = 0
        self.deadline_us: int | None = None

    def start(self, now_us: int, timeout_ms: int) -> None:
        """Arms it, or sets a new time-out."""
        self.timeout_us = timeout_ms * 1000
        self.deadline_us = now_us + self.timeout_us

    def feed(self, now_us: int) -> None:
        """Puts the deadline off; nothing happens when it is not armed."""
        if self.deadline_us is not None:
            self.deadline_us = now_us + self.timeout_us

    def reset(self) -> None:
        """A hardware reset disarms it; a soft reset does not."""
        self.deadline_us = None

    def expired(self, now_us: int) -> bool:
        """Whether the deadline has been reached."""
        return self.deadline_us is not None and now_us >= self.deadline_us
