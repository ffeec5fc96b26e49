"""The plans people start from: right by the board's own rules, told apart by ear, and with the cautions they need."""

import tomllib

import pytest

from panchime.errors import PanchimeError
from panchime.planfile.reading import mistakes
from panchime.planfile.starters import STARTER_METHODS, method_named, starter
from panchime.planfile.wire import to_json, to_toml
from panchime_fw import sound_words, sounds
from panchime_fw.plan import compile_plan


@pytest.mark.parametrize("method", STARTER_METHODS)
class TestStarter:
    def test_passes_the_boards_own_check(self, method):
        document = tomllib.loads(starter(method))
        assert mistakes(document) == []
        assert document["method"] == method

    def test_every_milestone_sounds_different(self, method):
        tones = [milestone.tones for milestone in compile_plan(tomllib.loads(starter(method))).milestones]
        assert len(set(tones)) == len(tones)

    def test_every_line_that_says_something_is_commented_and_fits(self, method):
        lines = starter(method).splitlines()
        head = lines[: lines.index("[[milestone]]")]
        assert all("#" in line for line in head if line and not line.startswith("#"))
        assert max(map(len, lines)) <= 125

    def test_warns_of_fire_and_of_leaving_it_alone(self, method):
        text = " ".join(starter(method).replace("#", " ").split())
        assert "extinguisher" in text
        assert "never leave the roast alone" in text

    def test_a_heater_on_the_relay_is_never_called_the_only_protection(self, method):
        text = starter(method)
        if tomllib.loads(text)["heater_on_relay"]:
            for words in ("NEVER be the sole protection", "thermostat", "thermal fuse", "SAFETY.md", "Mains voltage kills"):
                assert words in text

    def test_loses_nothing_as_json_and_as_toml(self, method):
        import json

        document = tomllib.loads(starter(method))
        assert json.loads(to_json(document)) == document
        assert tomllib.loads(to_toml(document)) == document


def test_one_starter_drives_a_heater():
    assert [method for method in STARTER_METHODS if tomllib.loads(starter(method))["heater_on_relay"]] == ["hot-air popper"]


def test_no_starter_sounds_like_the_boards_own_answers():
    own = {sounds.TAKEN, sounds.TAKEN_BACK, sounds.REFUSED, sounds.FOUND, sounds.STARTED, sounds.STOPPED, sounds.ALARM}
    for method in STARTER_METHODS:
        for milestone in compile_plan(tomllib.loads(starter(method))).milestones:
            assert milestone.tones not in own


@pytest.mark.parametrize("words", ["hot-air popper", "hot-air-popper", "Hot_Air_Popper", "HOTAIRPOPPER"])
def test_a_method_is_understood_however_it_is_spelled(words):
    assert method_named(words) == "hot-air popper"


def test_an_unknown_method_lists_the_known_ones():
    with pytest.raises(PanchimeError, match="skillet, wok, crank popper, hot-air popper, oven tray, heat gun"):
        method_named("microwave")


@pytest.mark.parametrize("method", STARTER_METHODS)
class TestWhatItSays:
    # What a cue is about, by words of its label, and the name whose sound it must have in every plan.
    MEANINGS = (
        ("load now", "load now"), ("tray in", "load now"), ("yellow", "yellow"), ("first crack near", "first crack soon"),
        ("first crack", "first crack"), ("development", "development"), ("take it out", "take it out"),
        ("tip out", "take it out"), ("second crack near", "second crack soon"), ("full city soon", "second crack soon"),
        ("too fast", "too fast"), ("stalling", "too slow"), ("cool enough", "cool enough"),
    )  # fmt: skip

    def test_the_same_meaning_has_the_same_sound_in_every_starter(self, method):
        for item in tomllib.loads(starter(method))["milestone"]:
            name = next((name for words, name in self.MEANINGS if words in item["label"].lower()), None)
            pattern = item["sound"].removesuffix(" high").removesuffix(" middle").removesuffix(" low")
            if name is None:
                assert pattern not in sound_words.NAMED.values(), item
                assert pattern not in sound_words.NAMED, item
            else:
                assert pattern == name

    def test_it_names_carbon_monoxide_and_a_way_outdoors(self, method):
        text = " ".join(starter(method).replace("#", " ").split())
        assert "carbon monoxide" in text
        assert "carbon-monoxide alarm" in text
        assert "hood that leads outdoors" in text
        assert "open a window" not in text
        assert "open window" not in text

    def test_over_an_empty_hot_pan_it_says_that_the_metal_is_hotter(self, method):
        document = tomllib.loads(starter(method))
        if document["loads"] == "hot" and method != "oven tray":
            (line,) = (line for line in starter(method).splitlines() if "hotter than this shows" in line)
            assert "small flame, stay there; find your own number" in line


def test_a_whole_popper_on_the_switch_is_tipped_out_before_the_press():
    text = starter("hot-air popper")
    assert "tip the beans out FIRST, then press" in text
    assert "heater off" not in " ".join(item["label"] for item in tomllib.loads(text)["milestone"])


def test_the_oven_starter_says_how_to_set_the_oven_and_where_the_probe_waits():
    text = " ".join(starter("oven tray").replace("#", " ").split())
    assert "thermostat to about 260 degrees C" in text
    assert "tip on the middle rack" in text
    assert "thermostat to about 500 degrees F" in " ".join(starter("oven tray", "F").replace("#", " ").split())


def test_nobody_is_told_to_add_beans_in_a_roast_that_is_too_fast():
    text = starter("hot-air popper")
    assert "more beans" not in text
    assert "a fuller chamber holds the hot air and roasts faster" in text


def test_the_starter_that_goes_past_city_asks_about_second_crack():
    assert "Going on into second crack?" in starter("crank popper")
    assert "darker than City" not in starter("crank popper")
