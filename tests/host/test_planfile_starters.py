"""The plans people start from: right by the board's own rules, told apart by ear, and with the cautions they need."""

import tomllib

import pytest

from panchime.errors import PanchimeError
from panchime.planfile.reading import mistakes
from panchime.planfile.starters import STARTER_METHODS, method_named, starter
from panchime.planfile.wire import to_json, to_toml
from panchime_fw import sounds
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
