"""The ear of the demonstration knows the board's alarms, and the telling says why they sound."""

import pytest

from panchime.demo.hearing import CUT_OFF, Ear
from panchime.demo.hearing_alarm import ALARMS
from panchime.demo.roasting import Telling
from panchime.planfile.reading import parse
from panchime_fw import sounds
from panchime_fw.plan import compile_plan

TEXT = 'name = "a"\nmethod = "wok"\nlimit = 240\n[[milestone]]\nlabel = "Long"\nrises_to = 200\nsound = "long"\n'
PLAN = parse(TEXT, "a.toml")


def changes(tones, begin_ms, until_ms=None):
    """What the piezo does: (ms, hz), hz 0 where it falls silent; a tone that sounds at ``until_ms`` is cut short there."""
    found, t_ms, place = [], begin_ms, 0
    while True:
        hz, on_ms, off_ms = tones[place % len(tones)]
        if until_ms is None and place == len(tones):
            return found
        if until_ms is not None and t_ms >= until_ms:
            return found if found[-1][1] == 0 else [*found, (until_ms, 0)]
        found.append((t_ms, hz))
        if off_ms or (until_ms is None and place == len(tones) - 1):
            found.append((min(t_ms + on_ms, until_ms or t_ms + on_ms), 0))
        t_ms, place = t_ms + on_ms + off_ms, place + 1


def heard(ear, happened, end_ms):
    """What an ear makes of it that is asked after every change."""
    found = []
    for t_ms, hz in happened:
        ear.hear({"t_ms": t_ms, "hz": hz})
        found += ear.finished(t_ms)
    return [(one.meaning, one.t_ms, one.is_alarm) for one in [*found, *ear.finished(end_ms)]]


@pytest.mark.parametrize(("meaning", "tones"), ALARMS)
@pytest.mark.parametrize("until_ms", [3_200, 9_910, 20_000])
def test_an_alarm_is_heard_once_however_long_it_goes_round(meaning, tones, until_ms):
    told = heard(Ear(compile_plan(PLAN.document)), changes(tones, 1_000, until_ms), 30_000)
    assert told == [(meaning, 1_000, True)]


def test_an_alarm_is_told_while_it_still_sounds():
    ear = Ear(compile_plan(PLAN.document))
    going = [change for change in changes(sounds.ALARM, 0, 60_000) if change[0] < 5_000]
    assert heard(ear, going, 5_000) == [("ALARM", 0, True)]


def test_a_cue_that_the_alarm_cut_off_and_the_answer_after_it_are_told_apart():
    cut = [(0, 2000), (150, 0)]  # of a long tone, not a quarter
    happened = [*cut, *changes(sounds.ALARM, 160, 4_000), *changes(sounds.TAKEN, 4_050)]
    told = heard(Ear(compile_plan(PLAN.document)), happened, 20_000)
    assert told == [(CUT_OFF, 0, False), ("ALARM", 160, True), ("press taken", 4_050, False)]


def test_another_alarm_that_takes_over_is_told_too():
    happened = [*changes(sounds.ALARM, 0, 6_000), *changes(sounds.ALARM_WELDED, 6_000, 12_000)]
    told = heard(Ear(compile_plan(PLAN.document)), happened, 20_000)
    assert [meaning for meaning, _, _ in told] == ["ALARM", "ALARM: still heating, pull the plug"]


def test_the_telling_says_why():
    lines = []
    telling = Telling(PLAN, lambda t_ms, probe_c, what, words: lines.append((round(t_ms), what, words)))
    for n, (t_ms, hz) in enumerate(changes(sounds.ALARM, 10_000, 15_000)):
        telling.world_event({"n": n, "t_ms": float(t_ms), "what": "tone", "hz": hz})
    # The board's own clock is a little behind the world's.
    telling.board_event(10_002, "trip", "over the limit: 240.25 C, limit 240.00 C")
    telling.say_until(60_000)
    assert lines == [
        (10_000, "cue", "ALARM (over the limit: 240.2 °C, limit 240.0 °C), until the button is pressed"),
        (10_002, "trip", "over the limit: 240.2 °C, limit 240.0 °C"),
    ]
    assert telling.cues == 1
