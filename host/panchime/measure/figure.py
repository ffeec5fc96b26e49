"""One measured figure, as the bench prints it and writes it."""

from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True)
class Figure:
    """`name`: what was measured. `compared_with` and `ratio`: the peer, and how many times this is that; None without one.

    `noise`: the share by which the value moves from run to run. `how`: how it was measured. `less_is_better` says which way
    is worse.
    """

    name: str
    value: float
    unit: str
    how: str
    compared_with: str | None = None
    ratio: float | None = None
    noise: float = 0.02
    less_is_better: bool = True

    def as_json(self) -> dict[str, Any]:
        return asdict(self)
