"""Times that were taken several times: in turns, so that whatever slows the computer slows both sides; median and noise."""

import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

# Even repeats that agree may all lie off together: another day's cache, another clock of the processor.
LEAST_NOISE = 0.03


@dataclass(frozen=True)
class Repeats:
    """`median` of the repeats, and `noise`: the distance between their quartiles as a share of it.

    Not that of the smallest and the largest: one of them is now and then ten times the others, when the computer does
    something else, and the median hardly feels it.
    """

    median: float
    noise: float


def repeats(values: Sequence[float]) -> Repeats:
    """Of at least one value. The median of none would be nothing to hold."""
    median = statistics.median(values)
    if len(values) == 1:
        return Repeats(median, LEAST_NOISE)
    lower, _, upper = statistics.quantiles(values, n=4, method="inclusive")
    return Repeats(median, max(LEAST_NOISE, (upper - lower) / abs(median)))


def seconds(work: Callable[[], object]) -> float:
    """How long a piece of work takes."""
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


@dataclass(frozen=True)
class Turns:
    """Ours and theirs in seconds, medians, and `ratio`: of each turn ours to theirs, median and noise of those."""

    ours_s: float
    theirs_s: float
    ratio: Repeats


def of_turns(ours: Sequence[float], theirs: Sequence[float]) -> Turns:
    """Of times that were taken in turns: the first of ours with the first of theirs."""
    ratios = [our / their for our, their in zip(ours, theirs, strict=True)]
    return Turns(statistics.median(ours), statistics.median(theirs), repeats(ratios))


def in_turns(ours: Callable[[], object], theirs: Callable[[], object], turns: int) -> Turns:
    """Does both so often, one after the other."""
    taken = [(seconds(ours), seconds(theirs)) for _ in range(turns)]
    return of_turns([our for our, _ in taken], [their for _, their in taken])
