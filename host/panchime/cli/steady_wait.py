"""Waiting at the board until its reading is steady, with progress on a terminal."""

import sys
import time
from types import TracebackType
from typing import Self

from panchime.errors import PanchimeError
from panchime.link.board import Board
from panchime.link.probe import Moment, read_fault, read_moment
from panchime.physics.steady import Steadiness
from panchime.terminal.words import degrees, degrees_apart

POLL_S = 0.05
# Farther from what is expected than any probe is off: it is somewhere else.
ELSEWHERE_C = 15.0


class Progress:
    """One line that is written over, on a terminal only."""

    def __init__(self) -> None:
        self._shown = sys.stderr.isatty()
        self._length = 0

    def show(self, text: str) -> None:
        """Replaces the line."""
        if self._shown:
            print(f"\r{text.ljust(self._length)}", end="", file=sys.stderr, flush=True)
            self._length = len(text)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        if self._length:
            print(f"\r{' ' * self._length}\r", end="", file=sys.stderr, flush=True)


def good_moment(board: Board) -> Moment:
    """A reading without a fault. Raises PanchimeError with the fault and what to do about it."""
    from panchime_fw import faults

    moment = read_moment(board)
    if moment.uncalibrated_c is None:
        fault = read_fault(board)
        raise PanchimeError(f"the probe cannot be read: {faults.NAMES[fault]}. {faults.ADVICE[fault]}")
    return moment


def wait_until_steady(board: Board, expected_c: float | None, patience_s: float, watch: Steadiness, unit: str) -> Steadiness:
    """Reads until the uncalibrated reading holds still near what is expected (anywhere when that is None).

    Times are the board's, what is said is in the unit. Raises PanchimeError when the probe is faulty, or patience (wall
    time) ends.
    """
    deadline = time.monotonic() + patience_s
    last_ms = -1
    reading_c = 0.0
    with Progress() as progress:
        while True:
            moment = good_moment(board)
            assert moment.uncalibrated_c is not None, "a good one has a reading"
            reading_c = moment.uncalibrated_c
            if moment.uptime_ms < last_ms:
                raise PanchimeError("the board restarted meanwhile: look for a loose cable and begin again")
            last_ms = moment.uptime_ms
            near = expected_c is None or abs(reading_c - expected_c) <= ELSEWHERE_C
            if near:
                watch.add(moment.uptime_ms, reading_c)
            else:
                watch.reset()
            if near and watch.steady:
                return watch
            if time.monotonic() >= deadline:
                raise PanchimeError(out_of_patience(reading_c, expected_c, watch, unit, patience_s))
            progress.show(f"{degrees(round(reading_c * 100), unit, 2):>10}  {progress_words(near, expected_c, watch, unit)}")
            time.sleep(POLL_S)


def progress_words(near: bool, expected_c: float | None, watch: Steadiness, unit: str) -> str:
    """What is being waited for."""
    if not near and expected_c is not None:
        return f"waiting for the probe to come near {degrees(round(expected_c * 100), unit, 1)}"
    if watch.share < 1.0:
        return f"watching, {watch.share:.0%}"
    return f"still moving, {degrees_apart(watch.drift_c, unit, '+')} in the last half minute"


def out_of_patience(reading_c: float, expected_c: float | None, watch: Steadiness, unit: str, patience_s: float) -> str:
    """Why waiting ended, and the way out."""
    waited = f"no steady reading came within {patience_s / 60:g} min"
    if expected_c is not None and abs(reading_c - expected_c) > ELSEWHERE_C:
        shown, expected = (degrees(round(each_c * 100), unit, 1) for each_c in (reading_c, expected_c))
        return (
            f"{waited}: the probe shows {shown}, and {expected} is expected. Is its tip in the water, "
            "and is the thermocouple type right ('panchime check')? Nothing was stored"
        )
    return (
        f"{waited}: the reading still moves ({degrees_apart(watch.drift_c, unit, '+')}). Stir, hold the tip free of the bottom "
        "and the ice, and try again; --patience gives it longer. Nothing was stored"
    )
