"""Everything around the board: probe and amplifier, kitchen, finger on the button; advanced in fixed steps of virtual time."""

import heapq
from collections.abc import Callable
from typing import Any

from panchime.virtual.chips import Chip
from panchime.virtual.pins import Pins, Wiring
from panchime.virtual.roaster.kitchen import STEP_US, Kitchen
from panchime.virtual.roaster.person import REACTION_MS, Act

PRESS_MS = {"short": 120, "long": 1500}  # a finger's short press; a long one outlasts any usual threshold; no source
DOUBLE_GAP_MS = 120
BENCH_C = 20.0

Tell = Callable[..., Any]


class Surroundings:
    """The world outside the board's pins. `tell(t_us, what, **details)` receives what happens."""

    def __init__(self, pins: Pins, wiring: Wiring, chip: Chip, kitchen: Kitchen | None, tell: Tell) -> None:
        self._pins = pins
        self._wiring = wiring
        self.chip = chip
        self.kitchen = kitchen
        self._tell = tell
        self.stepped_us = 0
        self._bench_c = BENCH_C
        self.set_probe_c: float | None = None
        self.set_cold_c: float | None = None
        self.relay_welded = False
        self._waiting: list[tuple[int, int, int]] = []
        self._order = 0
        chip.power_up()
        chip.convert(self.probe_c, self.cold_c)

    @property
    def probe_c(self) -> float:
        """The true temperature of the probe's tip."""
        if self.set_probe_c is not None:
            return self.set_probe_c
        return self.kitchen.probe.tip_c if self.kitchen else self._bench_c

    @property
    def cold_c(self) -> float:
        """The true temperature of the amplifier."""
        if self.set_cold_c is not None:
            return self.set_cold_c
        return self.kitchen.cold_c if self.kitchen else self._bench_c

    @property
    def bean_c(self) -> float | None:
        """The true temperature of the beans, None without beans."""
        return self.kitchen.bean_c if self.kitchen else None

    @property
    def relay_closed(self) -> bool:
        """Whether current can flow through the relay's contact."""
        return self.relay_welded or self._pins.level(self._wiring.relay) == 1

    def next_change_us(self) -> int | None:
        """When the finger moves next."""
        return self._waiting[0][0] if self._waiting else None

    def press(self, at_us: int, kind: str = "short", ms: int | None = None) -> None:
        """Plans a press of the button: short, double or long, or of so many milliseconds."""
        if kind == "double":
            self._hold(at_us, PRESS_MS["short"])
            self._hold(at_us + (PRESS_MS["short"] + DOUBLE_GAP_MS) * 1000, PRESS_MS["short"])
        else:
            self._hold(at_us, PRESS_MS[kind] if ms is None else ms)

    def _hold(self, at_us: int, ms: int) -> None:
        for t_us, level in ((at_us, 0), (at_us + ms * 1000, 1)):
            self._order += 1
            heapq.heappush(self._waiting, (t_us, self._order, level))

    def advance(self, to_us: int) -> None:
        """Lets the world reach a moment: steps, conversions, the person's acts and the finger, in order of time."""
        while True:
            step_us = self.stepped_us + STEP_US
            finger_us = self.next_change_us()
            if finger_us is not None and finger_us <= to_us and finger_us <= step_us:
                t_us, _, level = heapq.heappop(self._waiting)
                self._pins.drive(self._wiring.button, level if level == 0 else None)
                self._tell(t_us, "button", down=level == 0)
            elif step_us <= to_us:
                self._step(step_us)
            else:
                return

    def _step(self, t_us: int) -> None:
        self.stepped_us = t_us
        acts: list[Act] = []
        if self.kitchen is not None:
            acts = self.kitchen.step(self.relay_closed)
        if self.chip.due(STEP_US // 1000):
            noisy = self.kitchen is not None and self.set_probe_c is None
            self.chip.convert(self.kitchen.probe.reading_c() if noisy and self.kitchen else self.probe_c, self.cold_c)
        for act in acts:
            self._tell(t_us, "person", act=act.name, deed=act.deed, press=act.press, flame=act.flame)
            if act.press != "none":
                self.press(t_us + REACTION_MS * 1000, act.press)
