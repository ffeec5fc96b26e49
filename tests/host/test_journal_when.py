"""When a roast happened: exact, bounded or unknown, and never guessed."""

import pytest

from panchime.journal.when import BOUNDED, EXACT, UNKNOWN, When, reconstruct
from panchime.link.board import Anchor

DAY = 86_400_000
NOON = 1_795_000_000_000  # some moment, in ms since 1970


def test_utc_in_the_head_is_exact():
    assert reconstruct(5, 1000, 600_000, NOON, []) == When(EXACT, NOON, NOON)


def test_an_anchor_of_the_same_boot_makes_it_exact():
    # Connected an hour after the roast began, without a power cut in between.
    anchors = [Anchor(5, 3_700_000, NOON)]
    assert reconstruct(5, 100_000, 600_000, None, anchors) == When(EXACT, NOON - 3_600_000, NOON - 3_600_000)


def test_of_several_agreeing_anchors_the_nearest_in_uptime_is_taken():
    anchors = [Anchor(5, 200_000, NOON), Anchor(5, 10_200_000, NOON + 10_001_000)]
    assert reconstruct(5, 100_000, 600_000, None, anchors) == When(EXACT, NOON - 100_000, NOON - 100_000)


def test_anchors_of_one_boot_that_contradict_one_another_only_bound_it():
    anchors = [Anchor(5, 200_000, NOON), Anchor(5, 300_000, NOON + 7 * DAY)]
    when = reconstruct(5, 100_000, 600_000, None, anchors)
    assert when == When(BOUNDED, NOON - 100_000, NOON + 7 * DAY - 200_000)


def test_drift_of_a_crystal_over_days_is_no_contradiction():
    # 100 ppm over three days are 26 s.
    anchors = [Anchor(5, 0, NOON), Anchor(5, 3 * DAY, NOON + 3 * DAY + 26_000)]
    assert reconstruct(5, 1000, 600_000, None, anchors).kind == EXACT


def test_neighbouring_boots_bound_it():
    anchors = [Anchor(4, 50_000, NOON), Anchor(6, 80_000, NOON + DAY)]
    when = reconstruct(5, 100_000, 600_000, None, anchors)
    # After the earlier connection the board was on for 100 s; before the later boot the roast took 600 s.
    assert when == When(BOUNDED, NOON + 100_000, NOON + DAY - 80_000 - 600_000)


def test_one_neighbour_bounds_one_side():
    assert reconstruct(5, 0, 0, None, [Anchor(9, 0, NOON)]) == When(BOUNDED, None, NOON)
    assert reconstruct(5, 0, 0, None, [Anchor(2, 0, NOON)]) == When(BOUNDED, NOON, None)


@pytest.mark.parametrize("anchors", [[], [Anchor(4, 0, NOON), Anchor(6, 0, NOON - DAY)]])
def test_nothing_known_or_a_contradiction_is_unknown(anchors):
    assert reconstruct(5, 0, 0, None, anchors) == When(UNKNOWN)
