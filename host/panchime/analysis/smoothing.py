"""The smoothed curve and its rate of rise, by local polynomials.

Through every stretch of readings a cubic is fitted by least squares to the window around each moment (Savitzky and Golay,
Anal. Chem. 36, 1964, 1627); its value and its slope in the middle are the smoothed reading and the rate. At the two ends of a
stretch the middle is missing, and the polynomial of the last whole window is read off-centre: no reading is made up, none is
repeated, and no rate sags towards zero. At the end, where a cubic is loose, a quadratic takes its place.

A stretch never reaches across beans in or beans out: there the probe changes what it touches.
"""

import itertools
from array import array
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import median_filter
from scipy.signal import savgol_coeffs

from panchime.journal.story import Story
from panchime_fw.plan import BEANS_IN, BEANS_OUT

Floats = NDArray[np.float64]

WINDOW_S = 45.0
ORDER = 3
END_ORDER = 2
GRID_S = 0.25
LONGEST_BRIDGE_S = 3.0  # without readings; a longer gap ends a stretch
SPIKE_SAMPLES = 3  # the median of three lets no single wrong reading through


@dataclass(frozen=True)
class Smoothed:
    """A roast's readings and what was made of them; arrays of equal length, one place a sample.

    ``t_s``: seconds since the start of the log. ``reading_c``, ``temperature_c``: degC. ``rate_c_per_min``: NaN where there are
    not enough readings. ``noise_c``: standard deviation of the readings about the smoothed curve. ``rate_sd_c_per_min``: what
    that noise leaves in the rate, one standard deviation, inside a stretch.
    """

    t_s: Floats
    reading_c: Floats
    temperature_c: Floats
    rate_c_per_min: Floats
    noise_c: float
    rate_sd_c_per_min: float

    def temperature_at(self, t_s: float) -> float | None:
        """The smoothed temperature at a moment, None when no reading lies within three seconds on both sides."""
        return value_at(self.t_s, self.temperature_c, t_s)

    def rate_at(self, t_s: float) -> float | None:
        """The rate of rise at a moment, None where there is none."""
        return value_at(self.t_s, self.rate_c_per_min, t_s)


@dataclass(frozen=True)
class Fit:
    """What takes the readings of a window to the value, or the slope, of their polynomial.

    ``middle``: the weights for the window's middle. ``first``, ``last``: matrices for the half window before it and after it,
    where a stretch begins and where it ends.
    """

    middle: Floats
    first: Floats
    last: Floats


def value_at(t_s: Floats, values: Floats, moment_s: float) -> float | None:
    """A value between two neighbours no further apart than the longest bridge."""
    if not len(t_s) or not t_s[0] <= moment_s <= t_s[-1]:
        return None
    after = int(np.searchsorted(t_s, moment_s))
    before = max(after - 1, 0)
    if t_s[after] - t_s[before] > LONGEST_BRIDGE_S:
        return None
    value = float(np.interp(moment_s, t_s[before : after + 1], values[before : after + 1]))
    return None if np.isnan(value) else value


def smooth(story: Story, window_s: float = WINDOW_S) -> Smoothed:
    """The smoothed curve of a roast."""
    # By way of array(): numpy takes three times as long over a list.
    t_s = np.frombuffer(array("q", story.t_ms), dtype=np.int64) / 1000.0
    reading_c = np.frombuffer(array("q", story.temperature_centi), dtype=np.int64) / 100.0
    temperature_c, rate = reading_c.copy(), np.full(len(t_s), np.nan)
    borders_s = [mark.t_ms / 1000.0 for mark in (story.mark(BEANS_IN), story.mark(BEANS_OUT)) if mark]
    for part in stretches(t_s, borders_s):
        if t_s[part][-1] - t_s[part][0] >= window_s:
            temperature_c[part], rate[part] = smoothed_stretch(t_s[part], reading_c[part], window_s)
    noise_c = spread(reading_c - temperature_c, ~np.isnan(rate))
    return Smoothed(t_s, reading_c, temperature_c, rate, noise_c, noise_c * slope_factor(window_s))


def stretches(t_s: Floats, borders_s: list[float]) -> list[slice]:
    """The runs of readings that belong together, cut at the borders and at gaps. A reading at a border begins the new run."""
    if not len(t_s):
        return []
    cuts = set(np.flatnonzero(np.diff(t_s) > LONGEST_BRIDGE_S) + 1)
    cuts |= {np.searchsorted(t_s, border) for border in borders_s}
    places = [0, *sorted(int(cut) for cut in cuts if 0 < cut < len(t_s)), len(t_s)]
    return [slice(begin, end) for begin, end in itertools.pairwise(places)]


def smoothed_stretch(t_s: Floats, reading_c: Floats, window_s: float) -> tuple[Floats, Floats]:
    """Temperature (degC) and rate (degC/min) at the readings of one stretch, which is at least a window long."""
    grid = np.arange(t_s[0], t_s[-1] + GRID_S / 2, GRID_S)
    even = np.interp(grid, t_s, median_filter(reading_c, size=SPIKE_SAMPLES, mode="nearest"))
    length = min(window_samples(window_s), len(grid) - 1 + len(grid) % 2)
    value, slope = (fitted(even, fit(length, derivative)) for derivative in (0, 1))
    return np.interp(t_s, grid, value), np.interp(t_s, grid, slope) * 60.0


def window_samples(window_s: float) -> int:
    """The window in grid places: an odd number."""
    return round(window_s / GRID_S) // 2 * 2 + 1


def fitted(even: Floats, by: Fit) -> Floats:
    """The values, or the slopes, of a stretch on the grid."""
    length = len(by.middle)
    return np.concatenate((by.first @ even[:length], np.correlate(even, by.middle, "valid"), by.last @ even[-length:]))


@lru_cache(maxsize=32)
def fit(length: int, derivative: int) -> Fit:
    """The fit to a window of so many grid places (odd): the value (0) in degC, the slope (1) in degC/s."""
    half = length // 2
    cubic, quadratic = edge_fit(length, ORDER, derivative), edge_fit(length, END_ORDER, derivative)
    blend = np.clip(np.arange(half) / (half - 1) * 3.0, 0.0, 1.0)[:, None]  # no step where the two meet
    return Fit(cubic[half], cubic[:half], cubic[-half:] + blend * (quadratic - cubic)[-half:])


def edge_fit(length: int, order: int, derivative: int) -> Floats:
    """The matrix that takes a window's readings to their polynomial, or its slope, at every place of the window."""
    places = (savgol_coeffs(length, order, deriv=derivative, delta=GRID_S, pos=place, use="dot") for place in range(length))
    return np.array(list(places), dtype=np.float64)


@cache
def slope_factor(window_s: float) -> float:
    """How much of a reading's independent noise (degC) is left in the rate (degC/min): the norm of the filter's weights."""
    return float(np.linalg.norm(fit(window_samples(window_s), 1).middle)) * 60.0


def spread(residual: Floats, where: NDArray[np.bool_]) -> float:
    """The standard deviation by the median absolute deviation (1.4826 of it for a normal distribution); 0 without values."""
    chosen = residual[where]
    return float(1.4826 * np.median(np.abs(chosen))) if len(chosen) else 0.0
