"""What is told of a log: marks, stages, milestones, trips, and whatever is wrong with it."""

import sys
from pathlib import Path

import pytest

from panchime.journal.story import HeadLost, tell
from panchime.journal.summary import COMPLETE, INTERRUPTED, RUNNING, TRIPPED, summarise
from panchime_fw import events, faults, trips
from panchime_fw.logformat import JITTER_MS
from panchime_fw.signal import RATE_WINDOW_MS

sys.path.insert(0, str(Path(__file__).parent))
from made_roast import (
    BEANS_IN_MS,
    BEANS_OUT_MS,
    END_MS,
    FIRST_CRACK_MS,
    PLAN,
    YELLOW_MS,
    made_roast,
    usual_events,
)


def test_marks_with_their_source_and_the_one_taken_back_left_out():
    story = tell(made_roast())
    assert [(mark.name, mark.t_ms, mark.source) for mark in story.marks] == [
        ("beans in", BEANS_IN_MS, "pressed"),
        ("yellow", YELLOW_MS, "pressed"),
        ("first crack", FIRST_CRACK_MS, "found"),
        ("beans out", BEANS_OUT_MS, "sent"),
    ]
    assert story.problems == []


def test_stages_share_the_time_from_beans_in_to_beans_out():
    story = tell(made_roast())
    whole = BEANS_OUT_MS - BEANS_IN_MS
    assert story.roast_ms == whole
    assert [(portion.name, portion.share) for portion in story.portions] == [
        ("drying", (YELLOW_MS - BEANS_IN_MS) / whole),
        ("browning", (FIRST_CRACK_MS - YELLOW_MS) / whole),
        ("development", (BEANS_OUT_MS - FIRST_CRACK_MS) / whole),
    ]


def test_without_yellow_drying_and_browning_are_one():
    story = tell(made_roast([event for event in usual_events() if event[2] != 1 or event[1] != events.MARK]))
    assert [portion.name for portion in story.portions] == ["drying and browning", "development"]


def test_milestones_that_sounded_and_one_that_stayed_silent():
    story = tell(made_roast())
    assert [(hit.label, hit.sounded) for hit in story.milestones] == [
        ("Load now", True),
        ("Yellow soon", True),
        ("First crack", True),
        ("City: take it out", False),
    ]


def test_a_milestone_that_waited_its_turn_and_was_lost_stands_once():
    # docs/log-format.md, event 3: a later 1 of the same index says that it waited its turn and was lost.
    lost = [(52_000, events.MILESTONE, 0, events.SOUNDED, 0), (52_250, events.MILESTONE, 0, events.MISSED, 0)]
    story = tell(made_roast(lost))
    assert [(hit.label, hit.t_ms, hit.sounded) for hit in story.milestones] == [("Load now", 52_000, False)]


def test_a_milestone_that_came_due_anew_after_a_mark_was_taken_back_stands_twice():
    again = [
        (52_000, events.MILESTONE, 0, events.SOUNDED, 0),
        (60_000, events.MARK, 0, events.PRESSED, 60_000),
        (61_000, events.MARK_BACK, 0, 0, 0),
        (62_000, events.MILESTONE, 0, events.MISSED, 0),
    ]
    assert [hit.sounded for hit in tell(made_roast(again)).milestones] == [True, False]


def test_the_highest_reading_is_that_of_the_beans_and_not_of_the_hot_pan():
    early = tell(made_roast(usual_events()[:4], until_ms=400_000))
    assert max(early.temperature_centi) > 21_000
    assert early.peak_centi < 18_000


def test_the_rate_of_rise_is_the_boards():
    story = tell(made_roast())
    at = dict(zip(story.t_ms, story.rate_centi_per_min, strict=True))
    ready = [rate for t_ms, rate in at.items() if 300_000 <= t_ms <= 310_000]
    # The made curve rises by 205 / 4.2 * exp(-3.5 / 4.2) = 21.2 degC a minute at three and a half minutes.
    assert all(rate is not None and 1900 <= rate <= 2350 for rate in ready)
    begun_anew = [rate for t_ms, rate in at.items() if BEANS_IN_MS <= t_ms < BEANS_IN_MS + RATE_WINDOW_MS // 2]
    assert all(rate is None for rate in begun_anew)


def test_states():
    assert summarise(tell(made_roast()), running=False).state == COMPLETE
    assert summarise(tell(made_roast(end=None)), running=False).state == INTERRUPTED
    assert summarise(tell(made_roast(end=None)), running=True).state == RUNNING
    tripped = tell(made_roast([(600_000, events.TRIP, trips.OVER_LIMIT, 24_510, 24_500)]))
    assert summarise(tripped, running=False).state == TRIPPED
    assert summarise(tripped, running=False).trip == "over the limit"
    assert (tripped.trips[0].reading_centi, tripped.trips[0].limit_centi) == (24_510, 24_500)


def test_faults_are_taken_together_and_named():
    story = tell(made_roast(faults=[(100_000, 102_000, faults.OPEN), (200_000, 200_500, faults.FROZEN)]))
    assert [span.words for span in story.faults] == ["thermocouple open", "reading is frozen"]
    moments = [moment for span in story.faults for moment in (span.from_ms, span.to_ms)]
    assert moments == pytest.approx([100_000, 101_750, 200_000, 200_250], abs=JITTER_MS)


def test_the_length_of_an_interrupted_log_is_that_of_its_last_slot():
    assert tell(made_roast(end=None, until_ms=60_000)).end_ms == pytest.approx(59_750, abs=JITTER_MS)
    assert tell(made_roast()).end_ms == END_MS


@pytest.mark.parametrize("raw", [b"", b"PANCHIME1\n", b"\x80\x00\x05hello", bytes(range(256)) * 20, made_roast()[:100]])
def test_a_log_without_a_head_is_nobodys(raw):
    with pytest.raises(HeadLost):
        tell(raw)


@pytest.mark.parametrize(
    "changes",
    [
        {"plan": None},
        {"plan": {"name": 5, "method": ["x"], "marks": "abc", "milestone": {"a": 1}}},
        {"plan": PLAN | {"marks": ["beans in", 7], "milestone": ["x", 3]}},
        {"model": None, "firmware": 3, "utc": "the day before yesterday"},
        {"utc": 12345},
    ],
)
def test_a_strange_head_is_told_as_far_as_it_goes(changes):
    story = tell(made_roast(**changes))
    assert story.board_serial == "E6614103E7"
    assert len(story.t_ms) == len(story.rate_centi_per_min) == END_MS // 250


@pytest.mark.parametrize("changes", [{"board": 7}, {"board": ""}, {"boot": "x"}, {"uptime_ms": None}])
def test_a_head_that_does_not_say_which_roast_it_is_is_no_head(changes):
    with pytest.raises(HeadLost, match="which board"):
        tell(made_roast(**changes))


def test_damage_in_the_middle_loses_one_chunk_and_is_said():
    raw = bytearray(made_roast())
    raw[len(raw) // 2] ^= 0x40
    story = tell(bytes(raw))
    assert story.problems
    assert END_MS // 250 - 60 < len(story.t_ms) < END_MS // 250
