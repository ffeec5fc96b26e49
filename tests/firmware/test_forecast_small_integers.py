"""No value of the forecast and the guide leaves the board's small integers."""

import sys
from pathlib import Path

import pytest

from panchime_fw.forecast import Forecast
from panchime_fw.guide import Guide, GuideVoice
from panchime_fw.plan_rules import AHEAD_S, GUIDE_POINTS

sys.path.insert(0, str(Path(__file__).parent))
from small_integer import SmallInteger, small


def watched(rate):
    rate._ticks = small(rate._ticks)
    rate._steps = small(rate._steps)
    return rate


@pytest.mark.parametrize(
    ("low", "high"), [(-20000, 176800), (176800, -20000), (176800, 176800), (-20000, -20000), (2000, 27000)]
)
@pytest.mark.parametrize("ahead_ms", [AHEAD_S[0] * 1000, AHEAD_S[1] * 1000 + 1500])
def test_forecast(low, high, ahead_ms):
    forecast = Forecast()
    watched(forecast._fast)
    watched(forecast._slow)
    forecast._last = small(forecast._last)
    for k in range(1200):
        value = low + (high - low) * k // 1200 if k % 7 else high
        forecast.add(SmallInteger(k * 250), SmallInteger(value))
        if forecast.ready:
            forecast.centi(SmallInteger(ahead_ms))
    assert forecast.ready


@pytest.mark.parametrize(("low", "high"), [(-3000, 30000), (30000, -3000)])
def test_guide(low, high):
    last = GUIDE_POINTS[1]
    guide = Guide([(k * 3600000 // (last - 1), low if k % 2 else high) for k in range(last)], 3000, 20000)
    guide._quarters, guide._centi = small(guide._quarters), small(guide._centi)
    voice = GuideVoice(guide)
    watched(voice._slope)
    for t_ms in range(0, 3600000, 1750):
        voice.add(SmallInteger(t_ms), SmallInteger(low if t_ms % 2000 else high))
        assert -2 <= voice.steps <= 2


def test_guide_of_two_points_an_hour_apart():
    guide = Guide([(0, -3000), (3600000, 30000)])
    guide._quarters, guide._centi = small(guide._quarters), small(guide._centi)
    assert guide.at(SmallInteger(3599999)) == 29998
