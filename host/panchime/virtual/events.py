"""What happens on the virtual board, in order and complete."""

from typing import Any

Event = dict[str, Any]


class EventLog:
    """Numbered events; nothing is ever dropped or reordered."""

    def __init__(self) -> None:
        self.events: list[Event] = []

    def add(self, t_us: int, what: str, **details: Any) -> Event:
        """Appends one event at a virtual time; `t_ms` keeps three decimals."""
        event: Event = {"n": len(self.events), "t_ms": t_us / 1000, "what": what, **details}
        self.events.append(event)
        return event
