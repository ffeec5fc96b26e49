"""The effect of the day over one's own roasts, and how far roasts are apart."""

import sys
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import curve_fit
from scipy.stats import t

from panchime.analysis.day_effect import Day, DayEffect, NotEnough, day_effect
from panchime.analysis.own_roasts import days_of_same_plan
from panchime.analysis.repeatability import Aligned, repeatability
from panchime.analysis.sketch import sketch, sketch_in_full, sketch_of_chunks
from panchime.analysis.smoothing import Smoothed, smooth
from panchime.analysis.span import Span
from panchime.journal.journal import Journal
from panchime.journal.story import tell
from panchime.journal.summary import summarise
from panchime.records.corrections import Correction
from panchime.records.records import Records
from panchime_fw import faults

sys.path.insert(0, str(Path(__file__).parent))
from kitchen_roast import kitchen_roast
from made_roast import PLAN, made_roast, usual_events

MEASURED = [(-5, 13.1), (0, 12.6), (4, 12.7), (9, 11.6), (15, 11.5), (21, 10.4), (24, 10.6)]
DAYS = [Day(number, day_c, minutes) for number, (day_c, minutes) in enumerate(MEASURED)]


def test_line_and_its_uncertainty_agree_with_another_fit():
    found = day_effect(DAYS)
    days, minutes = [day.day_c for day in DAYS], [day.minutes for day in DAYS]
    # curve_fit scales the covariance by the residuals: the same standard error by way of a Jacobian.
    (slope, at_zero), covariance = curve_fit(lambda x, a, b: a * np.asarray(x) + b, days, minutes)
    reach = t.ppf(0.975, 5) * covariance[0, 0] ** 0.5
    assert (found.min_per_c, found.at_zero_min) == pytest.approx((slope, at_zero))
    assert (found.low, found.high) == pytest.approx((slope - reach, slope + reach))
    assert found.r_squared == pytest.approx(np.corrcoef(days, minutes)[0, 1] ** 2)
    assert found.certain
    assert found.minutes_at(10) == pytest.approx(slope * 10 + at_zero)


def test_interval_holds_the_true_slope_as_often_as_it_says():
    chance = np.random.default_rng(11)
    hits = 0
    for _ in range(400):
        days = np.linspace(-5, 25, 8)
        minutes = 12 - 0.08 * days + chance.normal(0, 0.5, 8)
        found = day_effect([Day(n, c, m) for n, (c, m) in enumerate(zip(days, minutes, strict=True))])
        hits += found.low <= -0.08 <= found.high
    # 95 % of 400 with its own chance: three standard deviations are 13.
    assert abs(hits - 380) <= 13


def test_scatter_without_an_effect_is_told_as_such():
    noise = [11.0, 12.1, 11.2, 11.9, 11.1, 12.0]
    found = day_effect([Day(n, 4.0 * n, minutes) for n, minutes in enumerate(noise)])
    assert isinstance(found, DayEffect)
    assert not found.certain


def test_roasts_of_one_length_have_no_effect():
    found = day_effect([Day(number, 4.0 * number, 10.5) for number in range(7)])
    assert (found.min_per_c, found.low, found.high, found.r_squared) == (0, 0, 0, 0)
    assert not found.certain


def test_too_few_roasts_and_days_too_alike_are_not_enough():
    few = day_effect(DAYS[:5])
    alike = day_effect([Day(n, 20 + 0.5 * n, 11.0) for n in range(8)])
    assert isinstance(few, NotEnough)
    assert few.words == "not enough roasts yet: 5 of 6"
    assert isinstance(alike, NotEnough)
    assert "too alike" in alike.words


def test_own_roasts_are_those_of_the_plan_with_the_persons_word_on_the_day(tmp_path):
    other = PLAN | {"name": "Another"}
    kept = [made_roast(boot=1), made_roast(boot=2), made_roast(boot=3, plan=other)]
    kept.append(made_roast(usual_events()[:5], boot=4, end=None))
    with Journal(tmp_path / "journal.sqlite") as journal:
        for raw in kept:
            journal.keep("1.roast", raw, summarise(tell(raw), running=False))
        records = Records(journal)
        records.roasts.say(2, day_temperature_centi=-300)
        records.roasts.correct(2, Correction("beans out", 750_000))
        found = days_of_same_plan(journal, records, journal.entry(4))
        earlier = days_of_same_plan(journal, records, journal.entry(1))
    # made_roast's cold junction is 28 degC; beans in at 90 s, out at 720 s.
    assert found == [Day(1, 28.0, 10.5), Day(2, -3.0, 11.0)]
    assert earlier == found[:1]


def test_sketch_holds_readings_of_the_log_at_their_moments():
    for raw in (made_roast(), kitchen_roast("oven-tray-mild")[2]):
        story = tell(raw)
        drawn = sketch_of_chunks(raw)
        readings = dict(zip(story.t_ms, story.temperature_centi, strict=True))
        assert len(drawn.t_ms) > 150
        assert all(readings[t_ms] == centi for t_ms, centi in zip(drawn.t_ms, drawn.temperature_centi, strict=True))
        assert drawn.cold_start_centi == story.cold_centi[0]
        assert max(np.diff(drawn.t_ms)) <= 5000


def test_sketch_keeps_time_beyond_the_turn_of_the_short_clock():
    raw = kitchen_roast("skillet-extreme-cold")[2]
    assert sketch_of_chunks(raw).t_ms[-1] > 2 * 1_310_720
    assert sketch_of_chunks(raw).t_ms[-1] == pytest.approx(tell(raw).t_ms[-1], abs=5000)


@pytest.mark.parametrize("damage", ["cut", "flip", "gone"])
def test_sketch_of_a_damaged_log_is_read_in_full(damage):
    raw = made_roast()
    broken = {"cut": raw[:2000], "flip": raw[:2000] + bytes([raw[2000] ^ 1]) + raw[2001:], "gone": b""}[damage]
    assert sketch_of_chunks(broken) is None
    assert sketch(broken) == sketch_in_full(broken)
    assert (len(sketch(broken).t_ms) > 0) is (damage != "gone")


def ramp(offset_c, slope=10.0, zero_s=0.0, length_s=600.0):
    t_s = np.arange(0, length_s + 0.25, 0.25)
    temperature = 80 + offset_c + slope * (t_s - zero_s) / 60
    return Aligned(Smoothed(t_s, temperature, temperature, np.full(len(t_s), slope), 0.1, 0.1), Span(60, length_s), zero_s)


def test_parallel_roasts_are_as_far_apart_as_they_were_made():
    found = repeatability([ramp(0), ramp(3, length_s=500), ramp(-1.5)])
    assert (found.mean_c, found.worst_c) == pytest.approx((4.5, 4.5))
    assert (found.from_s, found.to_s) == (60, 499)


def test_alignment_takes_a_shift_out():
    found = repeatability([ramp(0), ramp(0, zero_s=30)])
    assert found.worst_c == pytest.approx(0, abs=1e-9)
    assert repeatability([ramp(0), ramp(5, zero_s=30)]).mean_c == pytest.approx(5)


def test_diverging_roasts_are_worst_at_the_end():
    found = repeatability([ramp(0, slope=10), ramp(0, slope=13)])
    assert found.worst_c == pytest.approx(3 * found.worst_at_s / 60)
    assert found.worst_at_s == found.to_s
    assert found.mean_c == pytest.approx(3 * (found.from_s + found.to_s) / 2 / 60)


def test_readings_before_a_gap_and_roasts_without_a_common_second():
    assert repeatability([ramp(0)]) is None
    assert repeatability([ramp(0), ramp(0, zero_s=2000)]) is None
    with_gap = tell(made_roast(faults=[(300_000, 420_000, faults.OPEN)]))
    whole = tell(made_roast())
    pair = [Aligned(smooth(story), Span(180, 700), 90.0) for story in (with_gap, whole)]
    assert repeatability(pair).worst_c < 2
