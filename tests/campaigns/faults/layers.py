"""The four layers, each taken away in turn: which of the others still opens the relay.

1 pull-down: a board in reset has no driven pin, and boot.py drives it low before anything else.
2 main.py: whatever ends the loop, the relay opens.
3 the cutoff. 4 the watchdog.
"""

import random
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import bench_flash
import fault_kinds
import good_roast
import snapshots
from bench_board import Bench, WatchdogReset

from panchime_fw import trips

PULL_DOWN = "pull-down and boot.py"
MAIN = "main.py"
CUTOFF = "cutoff"
WATCHDOG = "watchdog"
LAYERS = ("none", PULL_DOWN, MAIN, CUTOFF, WATCHDOG)
IN_THE_ROAST_MS = 300000
PATIENCE_MS = 30 * 60000
NOBODY = "no layer"


@dataclass
class Ended:
    fault: str
    without: str
    opened_by: str
    after_ms: int | None
    must_open: bool


class Firmware(Exception):
    """A mistake of ours that ends the loop."""


_moments: list[bytes] = []


def heated_roast() -> Bench:
    """A board in the middle of a heated roast; run once, then taken from where it was kept."""
    if _moments:
        kept: Bench = snapshots.restore(_moments[0])
        bench_flash.use(kept.flash)
        return kept
    bench = good_roast.new_bench("hot-air popper", "mild", 77)
    bench.run_to(IN_THE_ROAST_MS)
    assert bench.board.relay_closed
    bench.world.person_acts = False
    _moments.append(snapshots.take(bench))
    return heated_roast()


def _over_limit(bench: Bench) -> None:
    fault_kinds.over_limit(bench, random.Random(1))


def _probe_open(bench: Bench) -> None:
    bench.world.chip.fault = "open"


def _raises(bench: Bench) -> None:
    def broken(*_: Any) -> None:
        raise Firmware

    bench.session.player.step = broken


def _hangs(bench: Bench) -> None:
    def endless(*_: Any) -> None:
        bench.board.let_pass(PATIENCE_MS)

    bench.session.player.step = endless


def _sampling_ends(bench: Bench) -> None:
    """The loop runs on and samples no more."""

    def nothing(_: int) -> None:
        bench.loop._next_sample_ms = bench.board.ticks_ms() + 250

    bench.loop._sample = nothing


def _pin_does_not_obey(bench: Bench) -> None:
    """The pin stays high although it is told to open, as after a stray write to its register."""
    bench.board.welded_pin = True
    bench.session.relay_off(bench.board.ticks_ms())


def _reset(bench: Bench) -> None:
    bench.board.fed_ms = None
    raise WatchdogReset


# Fault -> (how, the layers that can open the relay by themselves).
FAULTS: dict[str, tuple[Callable[[Bench], None], tuple[str, ...]]] = {
    "over the limit": (_over_limit, (CUTOFF,)),
    "probe open": (_probe_open, (CUTOFF,)),
    "the loop ends with an error": (_raises, (MAIN, WATCHDOG)),
    "a call never returns": (_hangs, (WATCHDOG,)),
    "no sample is taken any more": (_sampling_ends, (WATCHDOG,)),
    "the pin does not obey": (_pin_does_not_obey, (WATCHDOG,)),
    "reset": (_reset, (PULL_DOWN,)),
}


def run_one(fault: str, without: str) -> Ended:
    """One fault with one layer taken away, as far as the relay's opening or half an hour."""
    inject, openers = FAULTS[fault]
    bench = heated_roast()
    board = bench.board
    must_open = bool(set(openers) - {without})
    if without == CUTOFF:
        bench.session.cutoff.decide = lambda sample, now_ms: trips.NONE
    if without == WATCHDOG:
        board.watchdog_works = False
    start_ms = bench.world.now_ms
    opened_by = NOBODY
    try:
        inject(bench)
        while board.relay_closed and bench.world.now_ms - start_ms < PATIENCE_MS:
            bench.world.now_ms += 1
            bench.loop.step()
        if not board.relay_closed:
            opened_by = CUTOFF if bench.session.cutoff.reason else "the loop"
    except WatchdogReset:
        # Reset: pins are inputs again, and the driver's pull-down opens the relay. Without it the pin floats until boot.py.
        reset_is_it = fault == "reset"
        opened_by = PULL_DOWN if reset_is_it else WATCHDOG
        if reset_is_it:
            board.relay_closed = False
            opened_by = "boot.py" if without == PULL_DOWN else PULL_DOWN
    except Firmware:
        if without != MAIN:
            board.relay(False)
            opened_by = MAIN
        else:
            # Left at the prompt with the relay as it was: only the watchdog is awake.
            try:
                board.let_pass(PATIENCE_MS)
            except WatchdogReset:
                opened_by = WATCHDOG
    closed = opened_by == NOBODY
    return Ended(fault, without, opened_by, None if closed else bench.world.now_ms - start_ms, must_open)


def table() -> list[dict[str, Any]]:
    with bench_flash.installed():
        return [vars(run_one(fault, without)) for fault in FAULTS for without in LAYERS]


def holds(rows: list[dict[str, Any]]) -> bool:
    return all(row["opened_by"] != NOBODY for row in rows if row["must_open"])


def told(rows: list[dict[str, Any]]) -> list[str]:
    heads = "".join(f"{'without ' + name:<32}" for name in LAYERS)
    lines = ["Which layer opened the relay, and after how many seconds", f"{'fault':<30}{heads}"]
    for fault in FAULTS:
        cells = []
        for row in rows:
            if row["fault"] == fault:
                after = "" if row["after_ms"] is None else f" {row['after_ms'] / 1000:.2f}"
                cells.append(f"{row['opened_by'] + after:<32}")
        lines.append(f"{fault:<30}" + "".join(cells))
    return lines


