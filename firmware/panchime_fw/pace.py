"""A beat for stirring or cranking: when the next click is due. Knows no sound; a beat that cannot be clicked is left out."""

from .ticks import ticks_add, ticks_diff

NO_STAGE = -1


class Pace:
    """`every_ms`: the beat of each stage by its number, 0 where there is none."""

    def __init__(self, every_ms) -> None:
        self.set_beats(every_ms)

    def set_beats(self, every_ms) -> None:
        self._every_ms = every_ms
        self._stage = NO_STAGE
        self._next_ms = 0

    def due(self, stage: int, now_ms: int) -> bool:
        """True once a beat. The beats lie on a grid from the stage's beginning: a late look does not shift them."""
        every_ms = self._every_ms[stage] if stage < len(self._every_ms) else 0
        if stage != self._stage:
            self._stage = stage
            self._next_ms = ticks_add(now_ms, every_ms)
            return False
        if every_ms == 0 or ticks_diff(now_ms, self._next_ms) < 0:
            return False
        while ticks_diff(now_ms, self._next_ms) >= 0:
            self._next_ms = ticks_add(self._next_ms, every_ms)
        return True
