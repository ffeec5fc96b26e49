"""The lag of a probe from made plunges, whose lag is known, against scipy's own fit."""

import math
import random

import numpy as np
import pytest
from scipy.optimize import curve_fit

from panchime.errors import PanchimeError
from panchime.physics.lag_fit import fit_lag


def plunge(lag_s, from_c, to_c, noise_c=0.0, step_c=0.0, seconds=None, every_s=0.25):
    chance = random.Random(7)
    times, values = [], []
    t = 0.0
    while t <= (seconds or 6 * lag_s):
        value = to_c + (from_c - to_c) * math.exp(-t / lag_s) + chance.gauss(0, noise_c)
        values.append(math.floor(value / step_c) * step_c if step_c else value)
        times.append(t)
        t += every_s
    return times, values


@pytest.mark.parametrize("lag_s", [1.1, 4.0, 8.0, 34.0])
@pytest.mark.parametrize(("from_c", "to_c"), [(0.0, 98.1), (21.0, 96.7), (98.0, 0.0)])
def test_exact(lag_s, from_c, to_c):
    fit = fit_lag(*plunge(lag_s, from_c, to_c), from_c, to_c)
    assert fit.lag_s == pytest.approx(lag_s, rel=1e-6)
    assert fit.scatter_c < 1e-6


@pytest.mark.parametrize("lag_s", [2.0, 8.0, 34.0])
def test_noise_and_the_amplifiers_step(lag_s):
    times, values = plunge(lag_s, 0.5, 98.0, noise_c=0.12, step_c=0.25)
    fit = fit_lag(times, values, 0.5, 98.0)
    assert fit.lag_s == pytest.approx(lag_s, rel=0.03)
    found, _ = curve_fit(lambda t, tau: 98.0 - 97.5 * np.exp(-t / tau), np.array(times), np.array(values), p0=[5.0])
    assert fit.lag_s == pytest.approx(found[0], rel=0.03)
    assert fit.scatter_c < 0.5


@pytest.mark.parametrize(
    ("times_and_values", "from_c", "to_c", "words"),
    [
        (plunge(8.0, 70.0, 98.0), 70.0, 98.0, "at least 30 are needed"),
        (plunge(0.2, 0.0, 98.0), 0.0, 98.0, "below a second"),
        (([0.0, 1.0, 2.0, 3.0, 4.0], [50.0, 45.0, 40.0, 35.0, 30.0]), 0.0, 98.0, "do not approach"),
    ],
)
def test_refused(times_and_values, from_c, to_c, words):
    with pytest.raises(PanchimeError, match=words):
        fit_lag(*times_and_values, from_c, to_c)
