"""One measured figure, as the bench prints it and writes it."""

from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True)
class Figure:
    """`name`: what was measured. `compared_with` and `ratio`: the peer, and how many times its value this is; None without one.

    `noise`: the share by which what is held (the ratio where there is one, else the value) moves from run to run; 0 for what
    comes out the same every time. `how`: how it was measured. `less_is_better` says which way is worse. `goal`: what it must
    hold at least, or at most where less is better; None where nothing was promised.
    """

    name: str
    value: float
    unit: str
    how: str
    compared_with: str | None = None
    ratio: float | None = None
    noise: float = 0.0
    less_is_better: bool = True
    goal: float | None = None

    @property
    def held(self) -> float:
        """What is held against baseline and goal: the ratio where there is one, since it survives a slower computer."""
        return self.value if self.ratio is None else self.ratio

    @property
    def meets_goal(self) -> bool:
        if self.goal is None:
            return True
        return self.held <= self.goal if self.less_is_better else self.held >= self.goal

    def as_json(self) -> dict[str, Any]:
        return asdict(self)
