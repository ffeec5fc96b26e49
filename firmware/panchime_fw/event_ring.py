"""The last events of this power-on, numbered, for whoever watches over the link. Adding one allocates nothing."""

LIMIT = 48


class EventRing:
    def __init__(self) -> None:
        self._t_ms = [0] * LIMIT
        self._kind = bytearray(LIMIT)
        self._a = [0] * LIMIT
        self._b = [0] * LIMIT
        self._c = [0] * LIMIT
        self.last = 0  # the number of the newest event; the first is 1

    def add(self, t_ms: int, kind: int, a: int, b: int, c: int) -> None:
        self.last += 1
        place = self.last % LIMIT
        self._t_ms[place] = t_ms
        self._kind[place] = kind
        self._a[place] = a
        self._b[place] = b
        self._c[place] = c

    def oldest(self) -> int:
        """The number of the oldest event still held; `last + 1` when there is none."""
        return max(1, self.last - LIMIT + 1)

    def get(self, number: int) -> tuple:
        """(t_ms, kind, a, b, c) of an event that is still held."""
        place = number % LIMIT
        return (self._t_ms[place], self._kind[place], self._a[place], self._b[place], self._c[place])
