"""Bands, heat, stalls, sudden rises and first-crack times, each against a computation of another kind."""

import sys
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad

from panchime.analysis.account import account_of
from panchime.analysis.bands import heat_above, time_in_bands
from panchime.analysis.rate_changes import STALL, SUDDEN_RISE, rate_changes
from panchime.analysis.smoothing import Smoothed, smooth
from panchime.analysis.span import Span
from panchime.journal.story import tell
from panchime.records.corrections import Correction, corrected
from panchime.records.roast_record import RoastRecord
from panchime_fw import faults

sys.path.insert(0, str(Path(__file__).parent))
from kitchen_roast import kitchen_roast
from made_roast import BEANS_OUT_MS, FIRST_CRACK_MS, YELLOW_MS, made_roast, usual_events


def curve_of(t_s, temperature_c, rate=None):
    t_s, temperature_c = np.asarray(t_s, float), np.asarray(temperature_c, float)
    rate = np.gradient(temperature_c, t_s) * 60 if rate is None else np.asarray(rate, float)
    return Smoothed(t_s, temperature_c, temperature_c, rate, 0.1, 0.1)


def test_bands_of_a_straight_line_are_those_of_paper_and_pencil():
    # 95 to 125 degC in 60 s: half a degree a second.
    curve = curve_of(np.arange(0, 60.25, 0.25), 95 + 0.5 * np.arange(0, 60.25, 0.25))
    found = [(band.low_c, band.high_c, round(band.seconds, 6)) for band in time_in_bands(curve, Span(0, 60))]
    assert found == [(90, 100, 10), (100, 110, 20), (110, 120, 20), (120, 130, 10)]


@pytest.mark.parametrize("name", ["skillet-mild", "hot-air-popper-freezing"])
def test_bands_agree_with_counting_finely(name):
    story, _, _ = kitchen_roast(name)
    account = account_of(story, RoastRecord(1))
    fine = np.arange(account.span.from_s, account.span.to_s, 0.005)
    values = np.interp(fine, account.curve.t_s, account.curve.temperature_c)
    for band in account.bands:
        counted = np.sum((values >= band.low_c) & (values < band.high_c)) * 0.005
        assert band.seconds == pytest.approx(counted, abs=0.05)
    assert sum(band.seconds for band in account.bands) == pytest.approx(account.span.to_s - account.span.from_s, abs=0.5)


def test_level_curve_and_gap_count_as_they_should():
    level = curve_of([0, 1, 2, 30, 31], [100, 100, 100, 100, 100])
    assert [(band.low_c, band.seconds) for band in time_in_bands(level, Span(0, 31))] == [(100, 3)]
    assert time_in_bands(level, Span(40, 50)) == []


def test_bands_in_fahrenheit_are_twenty_degrees_wide():
    story, _, _ = kitchen_roast("skillet-mild")
    bands = account_of(story, RoastRecord(1), fahrenheit=True).bands
    lows = [band.low_c * 1.8 + 32 for band in bands]
    assert lows == pytest.approx([20 * round(low / 20) for low in lows], abs=1e-9)
    assert np.diff(lows) == pytest.approx([20.0] * (len(lows) - 1))


@pytest.mark.parametrize("base_c", [100.0, 155.0, 230.0])
def test_heat_agrees_with_adaptive_quadrature(base_c):
    t_s = np.linspace(0, 600, 2401)

    def temperature(at_s):
        return 225 - 145 * np.exp(-at_s / 240)

    found = heat_above(curve_of(t_s, temperature(t_s)), Span(0, 600), base_c)
    wanted, _ = quad(lambda at_s: max(temperature(at_s) - base_c, 0.0) / 60, 0, 600, limit=400)
    assert found == pytest.approx(wanted, abs=0.01)


def test_heat_of_a_curve_that_crosses_the_base_within_one_piece():
    # 90 to 110 in 2 s: above 100 for 1 s, 5 degC in the mean.
    assert heat_above(curve_of([0, 2], [90, 110]), Span(0, 2), 100) == pytest.approx(5 / 60)
    assert heat_above(curve_of([0, 2], [110, 90]), Span(0, 2), 100) == pytest.approx(5 / 60)
    assert heat_above(curve_of([0, 2], [90, 99]), Span(0, 2), 100) == 0


def rate_of(*points):
    t_s = np.arange(0, 600.25, 0.25)
    rate = np.interp(t_s, [at for at, _ in points], [value for _, value in points])
    return curve_of(t_s, 100 + np.cumsum(rate) * 0.25 / 60, rate)


DECLINE = ((0, 0), (60, 25), (600, 5))


def test_even_decline_has_neither_stall_nor_rise():
    assert rate_changes(rate_of(*DECLINE), Span(0, 600)) == []


def test_stall_is_found_with_its_ends():
    curve = rate_of((0, 0), (60, 25), (300, 12), (320, 1), (360, 1), (380, 8), (600, 5))
    stall = next(change for change in rate_changes(curve, Span(0, 600)) if change.kind == STALL)
    # 2 degC/min is crossed at 320 - 20 / 11 and at 360 + 20 / 7.
    assert stall.from_s == pytest.approx(320 - 20 / 11, abs=0.3)
    assert stall.to_s == pytest.approx(360 + 20 / 7, abs=0.3)
    assert stall.to_rate == pytest.approx(1)


def test_short_dip_is_no_stall():
    curve = rate_of((0, 0), (60, 25), (300, 10), (305, 1.5), (310, 1.5), (315, 9), (600, 5))
    assert STALL not in [change.kind for change in rate_changes(curve, Span(0, 600))]


@pytest.mark.parametrize(("climb", "kinds"), [(2.9, []), (3.2, [SUDDEN_RISE])])
def test_sudden_rise_begins_at_three_degrees_a_minute(climb, kinds):
    curve = rate_of((0, 0), (60, 25), (400, 9), (430, 9 + climb), (600, 8))
    found = rate_changes(curve, Span(0, 600))
    assert [change.kind for change in found] == kinds
    for change in found:
        assert (change.from_s, change.to_s) == pytest.approx((400, 430), abs=0.3)
        assert change.to_rate - change.from_rate == pytest.approx(climb, abs=0.01)


def test_slow_rise_is_not_sudden():
    assert rate_changes(rate_of((0, 0), (60, 25), (300, 8), (420, 12), (600, 8)), Span(0, 600)) == []


def test_kitchen_roasts_neither_stall_nor_jump():
    for name in ("skillet-mild", "oven-tray-mild", "crank-popper-freezing"):
        story, _, _ = kitchen_roast(name)
        assert account_of(story, RoastRecord(1)).changes == []


def test_times_from_first_crack_are_exact():
    account = account_of(tell(made_roast()), RoastRecord(1))
    assert account.development_ms == BEANS_OUT_MS - FIRST_CRACK_MS
    assert account.development_share == (BEANS_OUT_MS - FIRST_CRACK_MS) / (BEANS_OUT_MS - 90_000)
    story, truth, _ = kitchen_roast("skillet-mild")
    account = account_of(story, RoastRecord(1))
    assert account.development_ms == truth.acts_ms["beans out"] - truth.acts_ms["first crack"]


def test_heat_is_counted_from_yellow_above_the_reading_at_yellow():
    story = tell(made_roast())
    found = account_of(story, RoastRecord(1))
    assert found.base_c == story.mark("yellow").temperature_centi / 100
    curve = found.curve
    inside = (curve.t_s >= YELLOW_MS / 1000) & (curve.t_s <= BEANS_OUT_MS / 1000)
    over = np.maximum(curve.temperature_c[inside] - found.base_c, 0)
    assert found.heat_c_min == pytest.approx(np.trapezoid(over, curve.t_s[inside]) / 60, rel=0.01)
    # Twenty degrees lower, from the same moment: 6.5 minutes of twenty degrees more.
    lower = account_of(story, RoastRecord(1), base_c=found.base_c - 20)
    assert lower.heat_c_min - found.heat_c_min == pytest.approx(20 * (BEANS_OUT_MS - YELLOW_MS) / 60_000, rel=0.01)


def test_without_yellow_there_is_no_heat():
    marks = [event for event in usual_events() if event[0] != YELLOW_MS]
    story = tell(made_roast(marks))
    assert story.mark("yellow") is None
    assert account_of(story, RoastRecord(1)).heat_c_min is None
    assert account_of(story, RoastRecord(1), base_c=150).heat_c_min is None


def test_corrected_mark_moves_everything_that_hangs_on_it():
    story = corrected(tell(made_roast()), [Correction("first crack", 620_000)])
    account = account_of(story, RoastRecord(1))
    assert account.development_ms == BEANS_OUT_MS - 620_000


def test_roast_without_marks_or_readings_is_told_without_failing():
    no_reading = [(0, 1_000_000, faults.OPEN)]
    for raw in (made_roast([]), made_roast([], end=None, until_ms=500), made_roast([], faults=no_reading)):
        found = account_of(tell(raw), RoastRecord(1))
        assert (found.span, found.turning, found.heat_c_min, found.degree) == (None, None, None, None)
        assert found.changes == []


def test_smooth_curve_of_the_account_is_that_of_the_story():
    story = tell(made_roast())
    assert np.array_equal(account_of(story, RoastRecord(1)).curve.temperature_c, smooth(story).temperature_c)
