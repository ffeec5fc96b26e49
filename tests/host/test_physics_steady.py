"""When a reading counts as steady: an approach does not, the amplifier's flicker does."""

import math
import random

import pytest

from panchime.physics.steady import Steadiness


def fed(value_of, seconds, window_ms=30_000):
    watch = Steadiness(window_ms)
    for t_ms in range(0, seconds * 1000 + 1, 250):
        watch.add(t_ms, value_of(t_ms / 1000))
    return watch


def flicker(celsius):
    chance = random.Random(3)
    return lambda _: math.floor((celsius + chance.gauss(0, 0.12)) * 4) / 4


def test_flicker_is_steady_and_averages_out():
    watch = fed(flicker(0.4), 40)
    assert watch.steady
    # The twin cuts off below its step of 0.25 degC.
    assert watch.mean_c == pytest.approx(0.4 - 0.125, abs=0.04)
    assert 0.05 < watch.noise_c < 0.25


def test_not_before_the_window_is_full():
    watch = fed(flicker(20.0), 29)
    assert not watch.steady
    assert watch.share == pytest.approx(29 / 30)


@pytest.mark.parametrize("lag_s", [4.0, 10.0, 34.0])
def test_what_is_left_of_an_approach_when_it_counts_as_steady(lag_s):
    watch = Steadiness()
    t_ms = 0
    while not watch.steady:
        watch.add(t_ms, 98.0 - 78.0 * math.exp(-t_ms / 1000 / lag_s))
        t_ms += 250
    assert 0 < 98.0 - watch.mean_c < 0.3
    assert 78.0 * math.exp(-t_ms / 1000 / lag_s) < 0.15


def test_a_loose_probe_is_not_steady():
    assert not fed(lambda t: 20.0 + (1.5 if int(t) % 5 == 0 else 0.0), 60).steady


def test_reset_forgets():
    watch = fed(flicker(20.0), 40)
    watch.reset()
    assert watch.share == 0.0
    watch.add(50_000, 20.0)
    assert not watch.steady
