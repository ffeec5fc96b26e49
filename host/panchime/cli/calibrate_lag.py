"""Measuring the probe's lag by a plunge from cold into boiling water."""

import sys
import time

from panchime.cli.calibrate_guides import LAG_GUIDE, note_lines
from panchime.cli.steady_wait import Progress, good_moment, wait_until_steady
from panchime.errors import PanchimeError
from panchime.link.board import Board
from panchime.link.probe import read_settings, store_lag
from panchime.physics.lag_fit import LagFit, fit_lag
from panchime.physics.steady import Steadiness
from panchime.terminal.output import note
from panchime.terminal.words import degrees, degrees_apart
from panchime_fw.settings import PROBE_LAG_S

# A plunge has begun when the reading has moved this far from where it held still.
PLUNGED_C = 5.0
WINDOW_MS = 10_000
DRIFT_C = 0.3
POLL_S = 0.03


def run_lag(board: Board, unit: str, patience_s: float, store: bool) -> int:
    """Measures the lag and stores it, or offers to."""
    before = read_settings(board)
    note_lines(LAG_GUIDE)
    fit = measure_lag(board, unit, patience_s)
    cold, hot = (degrees(round(each_c * 100), unit, 1) for each_c in (fit.from_c, fit.to_c))
    seen = f"from {cold} to {hot}, {fit.readings} readings, scatter {degrees_apart(fit.scatter_c, unit)}"
    print(f"lag {fit.lag_s:.1f} s: {seen}")
    print("That is the lag in water. Among beans and in moving air it is longer, for a 3 mm sheath several times: take this as")
    print("the least. What it is for: milestones come earlier by it, and the cutoff takes the higher of both values.")
    if fit.lag_s > PROBE_LAG_S[1]:
        raise PanchimeError(f"the board takes a lag of up to {PROBE_LAG_S[1]} s, this is {fit.lag_s:.0f}: use a thinner probe")
    if not store and not wants_it(fit, before.lag_ms / 1000):
        print("Not stored; --store stores it.")
        return 0
    store_lag(board, fit.lag_s)
    print(f"Stored on the board: {fit.lag_s:.1f} s, before it was {before.lag_ms / 1000:.1f} s.")
    if read_settings(board).lag_in_force_ms != round(fit.lag_s * 10) * 100:
        print("The plan on the board names a lag of its own, and that one holds.")
    return 0


def wants_it(fit: LagFit, before_s: float) -> bool:
    """Asks the person; without a terminal nobody is there to say yes."""
    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        return False
    print(f"Store {fit.lag_s:.1f} s on the board (now {before_s:.1f} s)? [y/N] ", end="", file=sys.stderr, flush=True)
    return sys.stdin.readline().strip().lower() in ("y", "yes")


def measure_lag(board: Board, unit: str, patience_s: float) -> LagFit:
    """Follows a plunge from a steady reading to a steady reading. Raises PanchimeError when there is none to follow."""
    cold = wait_until_steady(board, None, patience_s, Steadiness(WINDOW_MS, DRIFT_C), unit)
    from_c = cold.mean_c
    from_words = degrees(round(from_c * 100), unit, 1)
    note(f"Steady at {from_words}. Now plunge the tip into the boiling water, in one go, and hold it still.")
    deadline = time.monotonic() + patience_s
    seconds: list[float] = []
    readings: list[float] = []
    after = Steadiness(WINDOW_MS, DRIFT_C)
    with Progress() as progress:
        while not (seconds and after.steady):
            moment = good_moment(board)
            assert moment.uncalibrated_c is not None, "a good one has a reading"
            if seconds or abs(moment.uncalibrated_c - from_c) >= PLUNGED_C:
                seconds.append(moment.uptime_ms / 1000)
                readings.append(moment.uncalibrated_c)
                after.add(moment.uptime_ms, moment.uncalibrated_c)
            if time.monotonic() >= deadline:
                raise PanchimeError(
                    f"no plunge from {from_words} to a steady temperature came within {patience_s / 60:g} min: "
                    "begin again, or give it longer with --patience"
                )
            reading = degrees(round(moment.uncalibrated_c * 100), unit, 2)
            progress.show(f"{reading:>10}  {'following' if seconds else 'waiting for the plunge'}")
            time.sleep(POLL_S)
    return fit_lag(seconds, readings, from_c, after.mean_c)
