"""The rate of rise against scipy's straight-line fit, sample by sample."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import linregress

from panchime_fw.signal import SAMPLE_MS, TICK_MS, RateOfRise


def fitted(kept):
    """Slope of the least-squares line in hundredths of a degree a minute; kept: (t_ms, centi)."""
    return float(linregress([t / 60000 for t, _ in kept], [c for _, c in kept]).slope)


def window_of(samples, window_ms):
    """The samples that a window of this length and room holds, newest last."""
    newest = samples[-1][0]
    inside = [(t, c) for t, c in samples if newest - t <= window_ms]
    return inside[-(window_ms // SAMPLE_MS + 1) :]


def stepped_error(window_ms, count):
    """Four standard deviations of what rounding to 0.05 degC does to the slope of count samples, in centi a minute.

    The variance of a slope is sigma^2 / sum (t - mean)^2; a rounding step of 5 has sigma = 5 / sqrt(12).
    """
    return 4 * 5 / 12**0.5 / (window_ms / 60000) * (12 / count) ** 0.5


@pytest.mark.parametrize("window_ms", [20000, 30000, 45000, 60000])
@pytest.mark.parametrize("slope_c_per_min", [0.0, 0.7, 5.0, 12.3, 25.0, -30.0, 120.0])
def test_noisy_ramp_equals_the_fit(window_ms, slope_c_per_min):
    chance = random.Random(window_ms + int(slope_c_per_min * 10))
    rate, samples, compared = RateOfRise(window_ms), [], 0
    for t_ms in range(7000, 7000 + 2 * window_ms + 20000, 250):
        centi = round(15000 + slope_c_per_min * (t_ms - 7000) / 600 + chance.gauss(0, 25))
        samples.append((t_ms, centi))
        rate.add(t_ms, centi)
        if rate.ready:
            kept = window_of(samples, window_ms)
            assert abs(rate.centi_per_min - fitted(kept)) <= stepped_error(window_ms * 3 // 4, len(kept)) + 1
            compared += 1
    assert compared > window_ms // 250


def test_temperatures_on_its_steps_equal_the_fit_to_a_hundredth():
    """Without rounding of temperature or time the integer arithmetic alone is left: no more than 0.01 degC/min."""
    chance = random.Random(5)
    rate, samples = RateOfRise(30000), []
    for t_ms in range(0, 300000, 250):
        centi = 20000 + 5 * (t_ms // 1500) + 5 * chance.randrange(-6, 7)
        samples.append((t_ms, centi))
        rate.add(t_ms, centi)
        if rate.ready:
            assert rate.centi_per_min == pytest.approx(fitted(window_of(samples, 30000)), abs=1.2)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2**32), st.sampled_from([20000, 30000, 60000]), st.floats(-60, 60))
def test_irregular_times_and_gaps_equal_the_fit(seed, window_ms, slope_c_per_min):
    """Late samples, lost samples, gaps: the fit through the same samples, their times rounded to 125 ms."""
    chance = random.Random(seed)
    rate, samples, t_ms = RateOfRise(window_ms), [], chance.randrange(0, 10**8)
    start_ms = t_ms
    for turn in range(700):
        centi = round(25000 + max(-600, min(600, slope_c_per_min * (t_ms - start_ms) / 60000)) + chance.gauss(0, 20))
        tick_ms = (t_ms + TICK_MS // 2) // TICK_MS * TICK_MS
        samples.append((tick_ms, centi))
        rate.add(t_ms, centi)
        if rate.ready and turn % 11 == 0:
            kept = window_of(samples, window_ms)
            assert kept[-1][0] - kept[0][0] >= window_ms * 3 // 4 - TICK_MS
            # The sum of squares is bounded by the samples at the two ends at worst, hence the wide margin.
            spread = sum((t / 60000) ** 2 for t in centred(kept)) ** 0.5
            assert abs(rate.centi_per_min - fitted(kept)) <= 4.5 * (5 / 12**0.5) / spread + 2
        t_ms += chance.choice([250, 250, 250, 251, 260, 310, 400, 750, chance.randrange(250, window_ms // 4 - 200)])


def centred(kept):
    mean = sum(t for t, _ in kept) / len(kept)
    return [t - mean for t, _ in kept]


def test_the_sums_do_not_drift():
    """A day of samples: the last rate equals that of a line fed with the last window only."""
    chance = random.Random(8)
    rate, tail = RateOfRise(30000), []
    for k in range(4 * 3600 * 24):
        centi = 20000 + chance.randrange(-3000, 3000)
        rate.add(k * 250, centi)
        tail = [*tail[-120:], (k * 250, centi)]
    fresh = RateOfRise(30000)
    for t_ms, centi in tail:
        fresh.add(t_ms, centi)
    assert rate.centi_per_min == fresh.centi_per_min
