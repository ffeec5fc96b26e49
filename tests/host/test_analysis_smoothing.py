"""The smoothed curve, the rate of rise and the turning point, against the virtual roaster's hidden truth."""

import sys
from pathlib import Path

import numpy as np
import pytest

from panchime.analysis.smoothing import GRID_S, smooth, stretches, window_samples
from panchime.analysis.span import roast_span, turning_point
from panchime.journal.story import tell
from panchime.virtual.roaster.scenario import scenario_names
from panchime_fw import events, faults

sys.path.insert(0, str(Path(__file__).parent))
from kitchen_roast import kitchen_roast
from made_roast import BEANS_IN_MS, BEANS_OUT_MS, made_roast, usual_events

HOT = [name for name in scenario_names() if not name.startswith("hot-air")]


def inside(story, curve):
    begin, end = story.mark("beans in").t_ms / 1000, story.mark("beans out").t_ms / 1000
    return (curve.t_s >= begin) & (curve.t_s < end)


def true_rate(truth, from_ms, to_ms):
    """The probe's own rate in degC/min between two acts: by central differences, which never reach across an act."""
    t_s = np.array(truth.t_ms) / 1000
    chosen = (t_s >= from_ms / 1000) & (t_s < to_ms / 1000)
    return np.gradient(np.array(truth.probe_c)[chosen], t_s[chosen]) * 60


@pytest.mark.parametrize("name", scenario_names())
def test_rate_is_within_half_a_degree_a_minute_over_95_percent_of_the_roast(name):
    story, truth, _ = kitchen_roast(name)
    curve = smooth(story)
    wanted = true_rate(truth, truth.acts_ms["beans in"], truth.acts_ms["beans out"])
    error = np.abs(curve.rate_c_per_min[inside(story, curve)] - wanted)
    assert np.mean(error <= 0.5) >= 0.95
    # Once the probe has turned it holds to the end: no sag, no lag, no flourish before beans out.
    assert error[len(error) // 4 :].max() < 1.0


@pytest.mark.parametrize("name", HOT)
def test_turning_point_is_within_three_seconds(name):
    story, truth, _ = kitchen_roast(name)
    turning = turning_point(story, smooth(story))
    begin = truth.acts_ms["beans in"]
    within = [(probe, t_ms) for t_ms, probe in zip(truth.t_ms, truth.probe_c, strict=True) if begin <= t_ms <= begin + 300_000]
    coolest, at_ms = min(within)
    assert turning.t_s == pytest.approx(at_ms / 1000, abs=3)
    assert turning.after_s == pytest.approx((at_ms - begin) / 1000, abs=3)
    assert turning.temperature_c == pytest.approx(coolest, abs=0.5)


def test_beans_that_are_warmed_from_cold_have_no_turning_point():
    story, _, _ = kitchen_roast("hot-air-popper-freezing")
    curve = smooth(story)
    assert turning_point(story, curve) is None
    assert roast_span(story, None).from_s == story.mark("beans in").t_ms / 1000


def test_smoothing_agrees_with_a_polynomial_fitted_anew_at_each_moment():
    story, _, _ = kitchen_roast("skillet-mild")
    curve = smooth(story)
    half = window_samples(45.0) // 2
    clean = np.array([np.median(curve.reading_c[max(0, i - 1) : i + 2]) for i in range(len(curve.t_s))])
    for place in np.flatnonzero(inside(story, curve))[400:-400:97]:
        near = slice(place - half, place + half + 1)
        fit = np.polyfit(curve.t_s[near] - curve.t_s[place], clean[near], 3)
        # The log writes a slot's time within 25 ms; the smoothing's even grid takes that out, the fit does not.
        assert curve.temperature_c[place] == pytest.approx(fit[3], abs=0.002)
        assert curve.rate_c_per_min[place] == pytest.approx(fit[2] * 60, abs=0.02)


def test_stated_uncertainty_of_the_rate_is_the_one_that_is_seen():
    story, truth, _ = kitchen_roast("oven-tray-mild")
    curve = smooth(story)
    wanted = true_rate(truth, truth.acts_ms["beans in"], truth.acts_ms["beans out"])
    error = (curve.rate_c_per_min[inside(story, curve)] - wanted)[600:-100]
    assert 0.6 < np.std(error) / curve.rate_sd_c_per_min < 1.5
    # 0.12 degC of the probe and the steps of 0.25 degC, which add 0.25 / sqrt(12).
    assert curve.noise_c == pytest.approx((0.12**2 + 0.25**2 / 12) ** 0.5, rel=0.35)


def test_no_stretch_reaches_across_beans_in_or_out_or_a_gap():
    story = tell(made_roast(faults=[(400_000, 410_000, faults.OPEN)]))
    curve = smooth(story)
    parts = stretches(curve.t_s, [BEANS_IN_MS / 1000, BEANS_OUT_MS / 1000])
    ends = [end for part in parts for end in (curve.t_s[part][0], curve.t_s[part][-1])]
    # The log writes a slot's time within 25 ms.
    assert ends == pytest.approx([0.0, 89.75, 90.0, 399.75, 410.0, 719.75, 720.0, 899.75], abs=0.025)
    assert sum(part.stop - part.start for part in parts) == len(curve.t_s)
    assert curve.temperature_at(405.0) is None
    assert curve.temperature_at(300.0) == pytest.approx(143, abs=1)


def test_rate_at_the_end_of_a_stretch_is_that_of_the_roast_and_not_of_the_cooling():
    story = tell(made_roast())
    curve = smooth(story)
    # made_roast: 232 - 205 exp(-t / 4.2 min), at 10.5 min its slope is 4.0 degC/min; outside it falls by 200 degC/min.
    wanted = 205 / 4.2 * np.exp(-10.5 / 4.2)
    assert curve.rate_at(719.5) == pytest.approx(wanted, abs=1.0)


def test_single_wrong_reading_does_not_move_the_curve():
    story = tell(made_roast())
    place = story.t_ms.index(400_000)
    before = smooth(story)
    story.temperature_centi[place] += 15_000
    after = smooth(story)
    assert abs(after.temperature_c[place] - before.temperature_c[place]) < 0.1
    assert np.nanmax(np.abs(after.rate_c_per_min - before.rate_c_per_min)) < 0.3


def test_log_shorter_than_a_window_has_readings_and_no_rate():
    story = tell(made_roast([], end=None, until_ms=20_000))
    curve = smooth(story)
    assert np.isnan(curve.rate_c_per_min).all()
    assert curve.temperature_c.tolist() == curve.reading_c.tolist()
    assert (curve.noise_c, curve.rate_sd_c_per_min) == (0.0, 0.0)


def test_log_without_a_reading_gives_empty_arrays():
    story = tell(made_roast([], faults=[(0, 1_000_000, faults.OPEN)]))
    curve = smooth(story)
    assert len(curve.t_s) == 0
    assert curve.temperature_at(1.0) is None


def test_span_ends_with_a_trip_when_beans_out_was_not_marked():
    tripped = [*usual_events()[:7], (650_000, events.TRIP, 1, 24600, 24500)]
    story = tell(made_roast(tripped))
    assert roast_span(story, turning_point(story, smooth(story))).to_s == 650
    assert GRID_S == 0.25
