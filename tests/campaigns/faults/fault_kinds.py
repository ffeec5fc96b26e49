"""The faults that are put into a roast: how each is done to the world, which sample first shows it, how long it may take.

A fault shows in the first sample from which a careful reader could know it. The relay must be open `FROM_SHOWN_MS` later;
where a rule is itself a duration (`firmware/panchime_fw/cutoff.py` says why each is what it is) that duration comes on top.
"""

import random
from collections.abc import Callable
from typing import Any

from bench_board import Bench

from panchime_fw import cutoff, faults, stages

FROM_SHOWN_MS = 1000
AMBIENT_C = 25.0

PREHEAT = "preheat"
EARLY = "roasting early"
LATE = "roasting late"
COOLING = "cooling"
STAGES = (PREHEAT, EARLY, LATE, COOLING)
HEATED = (PREHEAT, EARLY, LATE)


def is_settled(bench: Bench) -> bool:
    """The beans have begun to rise: from here on the cutoff knows what a jump and a fall are."""
    return bool(bench.session.roast.stage == stages.ROASTING and bench.session.cutoff._rising)


class Watch:
    """Looks at every sample as the firmware has read it and remembers when the fault first showed.

    `allowed_ms`: from that sample to the open relay. `give_up_ms`: a run that lasts longer than this has missed the fault.
    """

    allowed_ms = FROM_SHOWN_MS
    give_up_ms = 60000
    watched = True  # False where the cutoff has no such rule yet: while beans go in any change may be true

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.from_ms = bench.world.now_ms
        self.shown_ms: int | None = None

    def see(self, reading: Any, at_ms: int) -> None:
        """One sample, read at that time."""
        if self.shown_ms is None and self.shows(reading, at_ms):
            self.shown_ms = at_ms

    def shows(self, reading: Any, at_ms: int) -> bool:
        return True


class SensorFault(Watch):
    """A reading that is not one: a loose plug may make and break for FAULT_MS."""

    allowed_ms = cutoff.FAULT_MS + FROM_SHOWN_MS

    def shows(self, reading: Any, at_ms: int) -> bool:
        return bool(reading.fault != faults.NONE)


class OverLimit(Watch):
    """A sample at or over the limit that is no spike."""

    def shows(self, reading: Any, at_ms: int) -> bool:
        limit_centi = self.bench.session.cutoff.limit_centi
        return bool(reading.temperature_centi >= limit_centi and self.bench.world.unspoilt_c * 100 >= limit_centi - 50)


class Jump(Watch):
    """A step no bean makes, within a second; a step beyond the limit is over the limit."""

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self.last_centi = bench.session.sample.filtered_centi
        self.watched = is_settled(bench)

    def shows(self, reading: Any, at_ms: int) -> bool:
        return bool(self.bench.world.unspoilt_c * 100 - self.last_centi >= cutoff.JUMP_CENTI)


class Wild(Watch):
    """Jumps to and fro: how many within how many samples the rule says."""

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self.last_centi = bench.session.measured_centi
        self.jumps: list[bool] = []
        self.watched = is_settled(bench)

    def shows(self, reading: Any, at_ms: int) -> bool:
        self.jumps.append(abs(reading.temperature_centi - self.last_centi) >= cutoff.JUMP_CENTI)
        self.last_centi = reading.temperature_centi
        return sum(self.jumps[-cutoff.WILD_WINDOW_SAMPLES :]) >= cutoff.WILD_JUMPS


class HotBoard(Watch):
    allowed_ms = cutoff.COLD_JUNCTION_MS + FROM_SHOWN_MS

    def shows(self, reading: Any, at_ms: int) -> bool:
        return bool(reading.fault != faults.NONE or reading.cold_centi >= cutoff.COLD_JUNCTION_CENTI)


class Frozen(Watch):
    """Shown by the first sample that is the one before; below FROZEN_ABOVE_CENTI only the missing warmth tells."""

    give_up_ms = 200000

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        warm = bench.session.measured_centi >= cutoff.FROZEN_ABOVE_CENTI
        self.allowed_ms = (cutoff.FROZEN_MS if warm else cutoff.NOT_WARMING_MS) + FROM_SHOWN_MS
        self.last: tuple[int, int] | None = None

    def shows(self, reading: Any, at_ms: int) -> bool:
        same = self.last == (reading.temperature_centi, reading.cold_centi)
        self.last = (reading.temperature_centi, reading.cold_centi)
        return same


class NotWarming(Watch):
    """Shown by the last sample that was NOT_WARMING_CENTI above the lowest since the one before, or too hot for the rule.

    Beans that go in begin it anew: a hot probe first falls to them.
    """

    allowed_ms = cutoff.NOT_WARMING_MS + FROM_SHOWN_MS
    give_up_ms = 900000

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        # What it has warmed by already counts.
        self.lowest_centi = min(bench.session.cutoff._warming_centi, bench.session.sample.filtered_centi)
        self.stage = bench.session.roast.stage

    def see(self, reading: Any, at_ms: int) -> None:
        filtered_centi = self.bench.session.sample.filtered_centi
        warmed = filtered_centi - self.lowest_centi >= cutoff.NOT_WARMING_CENTI
        hot = filtered_centi >= cutoff.NOT_WARMING_BELOW_CENTI
        if self.shown_ms is None:
            self.shown_ms = at_ms
        if warmed or hot or self.bench.session.roast.stage != self.stage:
            self.shown_ms = at_ms
            self.lowest_centi = filtered_centi
            self.stage = self.bench.session.roast.stage
        self.lowest_centi = min(self.lowest_centi, filtered_centi)


class ProbeOut(NotWarming):
    """Once the beans have risen a fall of PROBE_IN_AIR_CENTI shows it; before that the missing warmth does."""

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        out_c = bench.world.probe_out_c
        falls_centi = bench.session.sample.filtered_centi - round((out_c or 0.0) * 100)
        # A fall that ends before it is one for the rule is told by the missing warmth.
        self.settled = is_settled(bench) and falls_centi >= cutoff.PROBE_IN_AIR_CENTI + 500
        if self.settled:
            self.allowed_ms = FROM_SHOWN_MS
            self.give_up_ms = 120000
        self.peak_centi = bench.session.sample.filtered_centi

    def see(self, reading: Any, at_ms: int) -> None:
        if not self.settled:
            super().see(reading, at_ms)
            return
        self.peak_centi = max(self.peak_centi, self.bench.session.sample.filtered_centi)
        fallen_centi = self.peak_centi - self.bench.world.unspoilt_c * 100
        if self.shown_ms is None and fallen_centi >= cutoff.PROBE_IN_AIR_CENTI:
            self.shown_ms = at_ms


class AtOnce(Watch):
    """Shown by the first sample after it: a bound that is passed, a limit that is none, a loop that was late."""


class LongestReached(Watch):
    def __init__(self, bench: Bench, at_ms: int) -> None:
        super().__init__(bench)
        self.at_ms = at_ms

    def shows(self, reading: Any, at_ms: int) -> bool:
        return at_ms >= self.at_ms


# How each is done. An injector changes the world or the firmware's limits and answers the Watch.

Injector = Callable[[Bench, random.Random], Watch]


def over_limit(bench: Bench, chance: random.Random) -> Watch:
    start_ms, per_s = bench.world.now_ms, chance.uniform(2.0, 16.0)
    bench.world.shift = lambda junction_c, now_ms: junction_c + per_s * max(0, now_ms - start_ms) / 1000
    watch = OverLimit(bench)
    watch.give_up_ms = 200000
    return watch


def chip_fault(kind: str) -> Injector:
    def inject(bench: Bench, chance: random.Random) -> Watch:
        bench.world.chip.fault = kind
        bench.world._fresh = True
        return Frozen(bench) if kind == "frozen" else SensorFault(bench)

    return inject


def wrong_bits(bench: Bench, chance: random.Random) -> Watch:
    place, bits = chance.choice(((1, 0x02), (3, 0x08), (1, 0x01), (3, 0x02)))

    def spoil(frame: bytes) -> bytes:
        changed = bytearray(frame)
        changed[place] ^= bits
        return bytes(changed)

    bench.world.spoil = spoil
    return SensorFault(bench)


def jump(bench: Bench, chance: random.Random) -> Watch:
    by_c = chance.uniform(27.0, 120.0)
    bench.world.shift = lambda junction_c, now_ms: junction_c + by_c
    return Jump(bench)


def wild(bench: Bench, chance: random.Random) -> Watch:
    own = random.Random(chance.random())
    spread = chance.uniform(80.0, 300.0)
    bench.world.shift = lambda junction_c, now_ms: max(-50.0, junction_c + own.uniform(-spread, spread))
    return Wild(bench)


def hot_board(bench: Bench, chance: random.Random) -> Watch:
    to_c = chance.uniform(70.5, 95.0)
    bench.world.cold_shift = lambda cold_c, now_ms: to_c
    return HotBoard(bench)


def heater_dead(bench: Bench, chance: random.Random) -> Watch:
    bench.world.heater_dead = True
    bench.world.person_acts = False
    return NotWarming(bench)


def probe_out(bench: Bench, chance: random.Random) -> Watch:
    bench.world.probe_out_c = chance.uniform(20.0, 60.0)
    bench.world.person_acts = False
    return ProbeOut(bench)


def longest_roast(bench: Bench, chance: random.Random) -> Watch:
    # As if the plan had named this bound: nothing else reads it.
    in_ms = chance.randint(0, 3000)
    session = bench.session
    since_ms = (bench.board.ticks_ms() - session.roast.stage_since_ms) & ((1 << 30) - 1)
    session.cutoff.longest_ms = max(1, since_ms + in_ms)
    return LongestReached(bench, bench.world.now_ms + in_ms)


def longest_heating(bench: Bench, chance: random.Random) -> Watch:
    in_ms = chance.randint(0, 3000)
    session = bench.session
    since_ms = (bench.board.ticks_ms() - session._relay_since_ms) & ((1 << 30) - 1)
    session.cutoff.longest_heating_ms = max(1, since_ms + in_ms)
    return LongestReached(bench, bench.world.now_ms + in_ms)


def no_limit(bench: Bench, chance: random.Random) -> Watch:
    name = chance.choice(("limit_centi", "longest_ms"))
    setattr(bench.session.cutoff, name, chance.choice((0, -1, -24000)))
    return AtOnce(bench)


def limit_is_no_number(bench: Bench, chance: random.Random) -> Watch:
    """A bound that is not even a number ends the firmware, and main.py opens the relay."""
    setattr(bench.session.cutoff, chance.choice(("limit_centi", "longest_ms")), chance.choice((None, "240")))
    return AtOnce(bench)


def late(bench: Bench, chance: random.Random) -> Watch:
    bench.board.let_pass(chance.randint(cutoff.LATE_MS + 260, 4700))
    return AtOnce(bench)


KINDS: dict[str, tuple[Injector, tuple[str, ...]]] = {
    "over the limit": (over_limit, HEATED),
    "probe open": (chip_fault("open"), STAGES),
    "probe shorted to ground": (chip_fault("short to ground"), STAGES),
    "probe shorted to supply": (chip_fault("short to supply"), STAGES),
    "reading frozen": (chip_fault("frozen"), HEATED),
    "amplifier absent, low": (chip_fault("absent low"), STAGES),
    "amplifier absent, high": (chip_fault("absent high"), STAGES),
    "wrong chip bits": (wrong_bits, STAGES),
    "reading jumps": (jump, HEATED),
    "wild readings": (wild, HEATED),
    "board too hot": (hot_board, STAGES),
    "heater dead": (heater_dead, HEATED),
    "probe fell out": (probe_out, HEATED),
    "longest roast": (longest_roast, HEATED),
    "longest heating": (longest_heating, HEATED),
    "loop late": (late, HEATED),
    "no limit": (no_limit, HEATED),
    "limit is no number": (limit_is_no_number, HEATED),
}
# These have an end of their own: fault_runs.py.
LOG_REFUSED = "log cannot be written"
RESET = "reset in the roast"
HANGS = "loop hangs"
SPECIAL = (LOG_REFUSED, RESET, HANGS)
