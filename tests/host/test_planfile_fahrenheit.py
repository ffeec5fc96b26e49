"""Starters in degrees Fahrenheit: whole figures, the same roast, a limit that is no higher, remarks that agree."""

import re
import tomllib

import pytest

from panchime.cli.main import main
from panchime.planfile.doubts import doubts
from panchime.planfile.reading import mistakes
from panchime.planfile.starters import STARTER_METHODS, starter
from panchime_fw import stages
from panchime_fw.plan import RISES_TO, compile_plan
from panchime_fw.units import FAHRENHEIT

TEMPERATURES = ("limit", "cool_below", "rises_to", "falls_to", "of")
# Second crack begins at 224 to 225 degC, 435 to 437 degF (read in published tables of roast degrees).
SECOND_CRACK_CENTI = 22400
# Half a minute at 8 degC a minute, and what a hot pot carries the beans on by (common practice, no source).
ENOUGH_CENTI = 400


@pytest.mark.parametrize("method", STARTER_METHODS)
class TestStarter:
    def test_is_the_same_plan_to_within_a_step(self, method):
        celsius, fahrenheit = (tomllib.loads(starter(method, unit)) for unit in ("C", FAHRENHEIT))
        assert mistakes(fahrenheit) == []
        assert doubts(fahrenheit) == []
        assert fahrenheit["unit"] == "F"
        assert list(fahrenheit) == list(celsius)
        here, there = compile_plan(celsius), compile_plan(fahrenheit)
        # Down to a multiple of 5 degF: 2.78 degC at most, and never up.
        assert 0 <= here.limit_centi - there.limit_centi < 278
        for one, other in zip(here.milestones, there.milestones, strict=True):
            # Half a step of 5 degF is 1.39 degC; half a degree a minute is less.
            assert abs(one.value - other.value) <= 139
            assert (one.label, one.sound, one.stage, one.waits_for) == (other.label, other.sound, other.stage, other.waits_for)

    def test_has_whole_figures_that_a_person_would_choose(self, method):
        document = tomllib.loads(starter(method, FAHRENHEIT))
        for table in (document, *document["milestone"]):
            assert all(isinstance(table[key], int) and table[key] % 5 == 0 for key in TEMPERATURES if key in table)

    def test_its_remarks_speak_fahrenheit_and_stay_in_their_column(self, method):
        celsius, fahrenheit = starter(method).splitlines(), starter(method, FAHRENHEIT).splitlines()
        assert "degrees C" not in "\n".join(fahrenheit)
        remarks = " ".join(line.partition("#")[2] for line in fahrenheit)
        assert all(300 <= int(number) <= 1000 for number in re.findall(r"\b\d{3}\b", remarks))
        for one, other in zip(celsius, fahrenheit, strict=True):
            assert one.find("#") == other.find("#")


def test_what_takes_the_beans_out_comes_before_second_crack():
    for method in STARTER_METHODS:
        for milestone in compile_plan(tomllib.loads(starter(method))).milestones:
            if milestone.trigger == RISES_TO and milestone.stage == stages.ROASTING:
                assert milestone.value <= SECOND_CRACK_CENTI - ENOUGH_CENTI, milestone.label


def test_the_command_writes_it(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["plan", "new", "wok", "--fahrenheit"]) == 0
    assert (tmp_path / "wok.toml").read_text(encoding="utf-8") == starter("wok", FAHRENHEIT)
    assert main(["plan", "check", "wok.toml"]) == 0
    assert main(["plan", "new"]) == 0
    assert "--fahrenheit" in capsys.readouterr().out
