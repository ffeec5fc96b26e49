"""Plans beside roasts: made from one, rehearsed over one, compared with another."""

import json
import sys
import tomllib
from pathlib import Path

import pytest

from panchime.cli.main import main
from panchime.errors import PanchimeError
from panchime.journal.journal import Journal
from panchime.journal.story import tell
from panchime.journal.summary import summarise
from panchime.planfile.differences import differences
from panchime.planfile.from_roast import plan_from_roast, plan_text
from panchime.planfile.reading import mistakes
from panchime.planfile.starters import STARTER_METHODS, starter
from panchime.planfile.telling_apart import warnings
from panchime.rehearsal.bench import CUE, GUIDE, MARKED, RELAY_MOVED, TRIPPED
from panchime.rehearsal.kept_roast import over_kept_roast
from panchime.rehearsal.virtual_roast import over_scenario
from panchime.virtual.roaster.scenario import load_scenario
from panchime_fw import events, faults, sound_words

sys.path.insert(0, str(Path(__file__).parent))
from made_roast import BEANS_IN_MS, BEANS_OUT_MS, FIRST_CRACK_MS, PLAN, YELLOW_MS, made_roast, usual_events

SKILLET = tomllib.loads(starter("skillet"))


def plan(**changes):
    """A plan of one milestone; any key can be given another value."""
    return {
        "name": "Trial", "method": "skillet", "limit": 245, "marks": PLAN["marks"],
        "milestone": [{"label": "By now", "after_s": 60, "since": "yellow", "sound": "long"}],
    } | changes  # fmt: skip


def cues(rehearsal):
    return {one.words: one.t_ms for one in rehearsal.happenings if one.kind == CUE}


def test_a_plan_from_a_roast_has_a_cue_at_each_mark_and_its_curve_as_guide():
    story = tell(made_roast())
    document = plan_from_roast(story, 7)
    assert mistakes(document) == []
    assert document["limit"] == PLAN["limit"]
    found = {item["label"]: item for item in document["milestone"]}
    for label, t_ms in (("Yellow", YELLOW_MS), ("First crack", FIRST_CRACK_MS), ("Take it out", BEANS_OUT_MS)):
        assert found[label]["rises_to"] == round(story.temperature_at(t_ms) / 100)
    assert found["Load now"]["stage"] == "preheat"
    assert found["Yellow by now"]["after_s"] == (YELLOW_MS - BEANS_IN_MS) // 1000
    assert found["Take it out by now"] == {
        "label": "Take it out by now", "after_s": (BEANS_OUT_MS - FIRST_CRACK_MS) // 1000, "since": "first crack",
        "sound": "take it out low",
    }  # fmt: skip
    for seconds, degrees in document["guide"]:
        assert abs(degrees - story.temperature_at(BEANS_IN_MS + round(seconds * 1000)) / 100) <= 1
    assert document["guide"][-1][0] <= (BEANS_OUT_MS - BEANS_IN_MS) / 1000


def test_a_mark_sounds_by_its_name_and_no_two_sounds_are_alike():
    own = ["beans in", "colour of straw", "yellow", "smell of toast", "first crack", "second crack", "pause", "beans out"]
    story = tell(made_roast([(90_000 * (i + 1), events.MARK, i, events.PRESSED, 90_000 * (i + 1)) for i in range(8)],
                            plan=PLAN | {"marks": own}))  # fmt: skip
    document = plan_from_roast(story, 7)
    assert mistakes(document) == []
    assert warnings(document) == []
    found = {item["label"]: item["sound"] for item in document["milestone"]}
    for label, sound in (
        ("Load now", "load now"), ("Yellow", "yellow"), ("First crack near", "first crack soon"),
        ("First crack", "first crack"), ("Second crack", "second crack"), ("Take it out", "take it out"),
    ):  # fmt: skip
        assert found[label] == sound
    assert not any(found[label] in sound_words.NAMED for label in ("Colour of straw", "Smell of toast", "Pause"))


def test_the_plans_text_is_the_same_plan():
    document = plan_from_roast(tell(made_roast()), 7)
    text = plan_text(document, 7, "a day\nlimit = 999")
    assert tomllib.loads(text) == document
    assert "[[milestone]]" in text


def test_a_plan_in_fahrenheit_stays_in_fahrenheit():
    story = tell(made_roast(plan=PLAN | {"unit": "F", "limit": 473}))
    document = plan_from_roast(story, 7)
    assert mistakes(document) == []
    yellow = next(item for item in document["milestone"] if item["label"] == "Yellow")
    assert yellow["rises_to"] == round(story.temperature_at(YELLOW_MS) / 100 * 9 / 5 + 32)


def test_a_long_roast_leaves_room_for_the_guide():
    marks = [(BEANS_IN_MS, events.MARK, 0, 0, BEANS_IN_MS), (3_300_000, events.MARK, 4, 0, 3_300_000)]
    document = plan_from_roast(tell(made_roast(marks, until_ms=3_400_000)), 7)
    assert mistakes(document) == []
    assert 2 <= len(document["guide"]) <= 40


def test_without_beans_in_there_is_no_plan():
    with pytest.raises(PanchimeError, match="too few marks"):
        plan_from_roast(tell(made_roast([])), 7)


def test_a_repeated_roast_sounds_at_its_marks():
    """The plan of a virtual roast, rehearsed over the very same virtual roast."""
    scenario = load_scenario("hot-air-popper-mild")
    first = over_scenario(tomllib.loads(starter("hot-air popper")), scenario)
    relay = [one.t_ms for one in first.happenings if one.kind == RELAY_MOVED]
    marks = {one.words: one.t_ms for one in first.happenings if one.kind == MARKED}
    assert len(relay) == 2
    assert list(marks) == ["beans in", "yellow", "first crack", "beans out"]
    assert first.trips == ()
    again = over_scenario(tomllib.loads(starter("hot-air popper")), scenario)
    assert again.happenings == first.happenings
    other = over_scenario(tomllib.loads(starter("hot-air popper")), scenario, seed=5)
    assert other.happenings != first.happenings


def test_cues_by_time_come_when_the_kept_marks_say():
    rehearsal = over_kept_roast(plan(), tell(made_roast()), "it")
    assert cues(rehearsal) == {"By now": YELLOW_MS + 60_000}
    assert rehearsal.zero_ms == BEANS_IN_MS
    assert rehearsal.never == ()
    assert "second crack" not in rehearsal.foreign_marks


def test_marks_the_plan_does_not_have_and_cues_that_never_come_are_named():
    trial = plan(
        marks=["beans in", "first crack", "beans out"],
        milestone=[{"label": "Very hot", "rises_to": 240, "sound": "long"}],
    )
    rehearsal = over_kept_roast(trial, tell(made_roast()), "it")
    assert rehearsal.foreign_marks == ("yellow",)
    assert rehearsal.never == ("Very hot",)


def test_a_low_limit_trips_as_it_would_have():
    rehearsal = over_kept_roast(plan(limit=205), tell(made_roast()), "it")
    (trip,) = rehearsal.trips
    assert (trip.kind, trip.words) == (TRIPPED, "over the limit")
    assert trip.temperature_centi >= 20_500
    assert cues(rehearsal) == {}


def test_a_faulty_stretch_is_rehearsed_too():
    rehearsal = over_kept_roast(plan(), tell(made_roast(faults=[(400_000, 410_000, faults.OPEN)])), "it")
    assert [trip.words for trip in rehearsal.trips] == ["probe fault"]
    nothing = over_kept_roast(plan(), tell(made_roast([], faults=[(0, 900_000, faults.OPEN)])), "it")
    assert nothing.refused == "the log holds no readings"


def test_the_guide_speaks_in_a_rehearsal():
    guided = plan(guide=[[60, 300], [600, 300]], guide_every_s=60)
    said = [one for one in over_kept_roast(guided, tell(made_roast()), "it").happenings if one.kind == GUIDE]
    assert {one.words for one in said} == {"much cooler than the guide"}
    assert len(said) >= 5


@pytest.mark.parametrize("method", STARTER_METHODS)
def test_a_plan_does_not_differ_from_itself(method):
    document = tomllib.loads(starter(method))
    assert differences(document, document) == []


def test_differences_in_words():
    after = SKILLET | {
        "limit": 240,
        "heater_on_relay": True,
        "marks": ["beans in", "yellow", "first crack", "second crack", "beans out"],
        "milestone": [dict(item) for item in SKILLET["milestone"]],
    }
    changed = {item["label"]: item for item in after["milestone"]}
    changed["First crack"]["rises_to"] = 198
    changed["Load now"]["label"] = "Beans in now"
    changed["Yellow soon"]["sound"] = "long"
    after["milestone"].remove(changed["Second crack near"])
    after["milestone"].append({"label": "Smell it", "after_s": 90, "since": "yellow", "sound": "beeps 1"})
    found = differences(SKILLET, after)
    assert "limit falls from 245 °C to 240 °C" in found
    assert "heater on the relay: no becomes yes" in found
    assert "the mark 'second crack' is new" in found
    assert "'First crack' sounds at another point: it rises to 198 °C; before: it rises to 196 °C" in found
    assert "the milestone 'Load now' is now called 'Beans in now'" in found
    assert "'Yellow soon' sounds as long; before, as yellow" in found
    assert "the milestone 'Second crack near' is gone" in found
    assert "the milestone 'Smell it' is new: 90 s after yellow, beeps 1" in found
    assert len(found) == 8


def test_another_unit_alone_changes_no_temperature():
    inside_f = plan(unit="F", limit=473, milestone=[{"label": "A", "rises_to": 392, "sound": "long"}])
    inside_c = plan(unit="C", limit=245, milestone=[{"label": "A", "rises_to": 200, "sound": "long"}])
    assert differences(inside_f, inside_c) == ["unit: 'F' becomes 'C'"]


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.chdir(tmp_path)
    raw = made_roast(usual_events())
    with Journal() as journal:
        journal.keep("000012.roast", raw, summarise(tell(raw), running=False))
    return tmp_path


def test_the_commands_go_round(home, capsys):
    assert main(["plan", "from-roast", "1", "again.toml"]) == 0
    assert main(["plan", "check", "again.toml"]) == 0
    assert main(["plan", "from-roast", "1", "again.toml"]) == 1
    capsys.readouterr()
    assert main(["plan", "rehearse", "again.toml", "1"]) == 0
    out = capsys.readouterr().out
    assert "Yellow by now" in out
    assert max(map(len, out.splitlines())) <= 80
    assert main(["plan", "rehearse", "again.toml", "1", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert {one["words"] for one in told["happenings"] if one["what"] == "mark"} == {
        "beans in", "yellow", "first crack", "beans out",
    }  # fmt: skip
    assert main(["plan", "diff", "1", "again.toml"]) == 0
    assert "the guide curve is new" in capsys.readouterr().out
    assert main(["plan", "diff", "again.toml", "again.toml"]) == 0
    assert capsys.readouterr().out == "The two plans are the same.\n"
    assert main(["plan", "rehearse", "again.toml", "--scenario", "nowhere"]) == 1
    assert main(["plan", "diff", "again.toml", "9"]) == 1
