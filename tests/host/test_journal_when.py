"""When a roast happened: exact, bounded or unknown, and never guessed."""

import random

import pytest

from panchime.journal.when import BOUNDED, EXACT, SETTING_ERROR_MS, UNKNOWN, Clock, When
from panchime.link.anchor import Anchor

DAY = 86_400_000
SLACK = SETTING_ERROR_MS  # on either side of a bound
NOON = 1_795_000_000_000  # some moment, in ms since 1970


def reconstruct(boot, uptime_ms, log_ms, head_utc_ms, anchors):
    return Clock(anchors).when(boot, uptime_ms, log_ms, head_utc_ms)


def test_utc_in_the_head_is_exact():
    assert reconstruct(5, 1000, 600_000, NOON, []) == When(EXACT, NOON, NOON)


def test_an_anchor_of_the_same_boot_makes_it_exact():
    # Connected an hour after the roast began, without a power cut in between.
    anchors = [Anchor(5, 3_700_000, NOON)]
    assert reconstruct(5, 100_000, 600_000, None, anchors) == When(EXACT, NOON - 3_600_000, NOON - 3_600_000)


def test_of_several_agreeing_anchors_the_nearest_in_uptime_is_taken():
    anchors = [Anchor(5, 200_000, NOON), Anchor(5, 10_200_000, NOON + 10_001_000)]
    assert reconstruct(5, 100_000, 600_000, None, anchors) == When(EXACT, NOON - 100_000, NOON - 100_000)


def test_anchors_of_one_boot_that_contradict_one_another_say_nothing():
    # The computer's clock was wrong at one of the two: by which one the roast is dated, nobody can tell.
    anchors = [Anchor(5, 200_000, NOON), Anchor(5, 300_000, NOON + 7 * DAY)]
    assert reconstruct(5, 100_000, 600_000, None, anchors) == When(UNKNOWN)
    assert reconstruct(4, 100_000, 600_000, None, anchors) == When(UNKNOWN)
    assert reconstruct(6, 100_000, 600_000, None, anchors) == When(UNKNOWN)


def test_a_clock_that_was_wrong_once_spoils_only_what_it_contradicts():
    wrong = Anchor(7, 300_000, NOON - 400 * DAY)
    anchors = [Anchor(5, 200_000, NOON), wrong, Anchor(9, 100_000, NOON + DAY)]
    assert reconstruct(7, 100_000, 600_000, None, anchors) == When(UNKNOWN)
    later = reconstruct(10, 0, 0, None, anchors)
    assert later == When(BOUNDED, NOON + DAY - SLACK, None)
    assert reconstruct(9, 50_000, 0, None, anchors) == When(EXACT, NOON + DAY - 50_000, NOON + DAY - 50_000)


def test_a_board_that_runs_faster_than_real_time_gets_no_wrong_bound():
    # Sixty times as fast: each minute of wall time is an hour of uptime.
    anchors = [Anchor(4, 3_600_000, NOON), Anchor(5, 3_600_000, NOON + 70_000), Anchor(6, 60_000, NOON + 80_000)]
    for boot in (3, 4, 5, 6, 7):
        when = reconstruct(boot, 1_800_000, 600_000, None, anchors)
        assert when.kind == UNKNOWN or (boot == 3 and when.from_utc_ms is None), (boot, when)


def test_an_honest_history_has_every_roast_within_its_bounds():
    """A board over a year: boots, roasts, connections now and then, a crystal 80 ppm off; the truth is always within."""
    chance = random.Random(20261125)
    for _ in range(200):
        anchors, roasts = [], []
        utc_ms = NOON
        rate = 1 + chance.uniform(-80e-6, 80e-6)
        for boot in range(1, 13):
            utc_ms += chance.randrange(10_000, 30 * DAY)
            on_ms = chance.randrange(1_000_000, 3 * DAY)
            for _ in range(chance.randrange(0, 3)):
                at_ms = chance.randrange(0, on_ms - 900_000)
                roasts.append((boot, int(at_ms * rate), int(600_000 * rate), utc_ms + at_ms))
            for _ in range(chance.choice((0, 0, 1, 2))):
                at_ms = chance.randrange(0, on_ms)
                anchors.append(Anchor(boot, int(at_ms * rate), utc_ms + at_ms))
            utc_ms += on_ms
        known = 0
        clock = Clock(anchors)
        for boot, uptime_ms, log_ms, truth_ms in roasts:
            when = clock.when(boot, uptime_ms, log_ms, None)
            known += when.kind != UNKNOWN
            assert when.kind != EXACT or abs(when.from_utc_ms - truth_ms) < 60_000
            assert when.from_utc_ms is None or when.kind == EXACT or when.from_utc_ms <= truth_ms
            assert when.to_utc_ms is None or when.kind == EXACT or truth_ms <= when.to_utc_ms
        assert known == len(roasts) or not anchors, "an honest history contradicts itself"


def test_drift_of_a_crystal_over_days_is_no_contradiction():
    # 100 ppm over three days are 26 s.
    anchors = [Anchor(5, 0, NOON), Anchor(5, 3 * DAY, NOON + 3 * DAY + 26_000)]
    assert reconstruct(5, 1000, 600_000, None, anchors).kind == EXACT


def test_neighbouring_boots_bound_it():
    anchors = [Anchor(4, 50_000, NOON), Anchor(6, 80_000, NOON + DAY)]
    when = reconstruct(5, 100_000, 600_000, None, anchors)
    # After the earlier connection the board was on for 100 s; before the later boot the roast took 600 s.
    assert when == When(BOUNDED, NOON + 100_000 - SLACK - 15, NOON + DAY - 80_000 - 600_000 + SLACK + 102)


def test_one_neighbour_bounds_one_side():
    assert reconstruct(5, 0, 0, None, [Anchor(9, 0, NOON)]) == When(BOUNDED, None, NOON + SLACK)
    assert reconstruct(5, 0, 0, None, [Anchor(2, 0, NOON)]) == When(BOUNDED, NOON - SLACK, None)


@pytest.mark.parametrize("anchors", [[], [Anchor(4, 0, NOON), Anchor(6, 0, NOON - DAY)]])
def test_nothing_known_or_a_contradiction_is_unknown(anchors):
    assert reconstruct(5, 0, 0, None, anchors) == When(UNKNOWN)
