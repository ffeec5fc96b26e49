"""Calibration and lag stay within the board's small integers: every document that passes, every reading a probe can give."""

import sys
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from panchime_fw import calibration
from panchime_fw.lag import LagCompensator

sys.path.insert(0, str(Path(__file__).parent))
from small_integer import SmallInteger, small

READINGS = st.integers(-20000, 176800)
POINTS = st.lists(st.tuples(st.integers(-3800, 38000), st.integers(-300, 300)), min_size=1, max_size=2)


def point(shown_centi, true_centi):
    return {"shown_centi": shown_centi, "true_centi": true_centi, "how": "", "date": ""}


@settings(deadline=None)
@given(st.sampled_from("KJNTERS"), POINTS)
def test_calibration_is_small_bounded_and_rising(letter, pairs):
    found = {"points": [point(shown, shown + more) for shown, more in pairs]}
    assume(calibration.check(found, letter) == [])
    correct = calibration.Calibration(found, letter)
    for name in ("_from_centi", "_correction_centi", "_rise_centi", "_span_centi", "_least_centi", "_share"):
        setattr(correct, name, SmallInteger(getattr(correct, name)))
    last = None
    for shown in range(-20000, 176801, 331):
        true = correct.apply(SmallInteger(shown))
        assert abs(true - shown) <= calibration.tolerance_centi(letter, shown)
        assert last is None or true > last
        last = true


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 60000), st.lists(READINGS, min_size=30, max_size=200))
def test_lag_is_small_and_bounded(lag_ms, readings):
    lag = LagCompensator(lag_ms)
    lag._lag_tenths_s = SmallInteger(lag._lag_tenths_s)
    lag._slope._ticks = small(lag._slope._ticks)
    lag._slope._steps = small(lag._slope._steps)
    for step, centi in enumerate(readings):
        lag.add(SmallInteger(step * 250), SmallInteger(centi))
        assert abs(lag.compensated_centi - centi) <= lag_ms * 12000 // 60000 + 1


@pytest.mark.parametrize("lag_ms", [100, 8500, 60000])
def test_lag_in_the_worst_swings(lag_ms):
    lag = LagCompensator(lag_ms)
    lag._slope._ticks = small(lag._slope._ticks)
    lag._slope._steps = small(lag._slope._steps)
    for step in range(2000):
        centi = 176800 if step // 40 % 2 else -20000
        lag.add(SmallInteger(step * 250), SmallInteger(centi))
