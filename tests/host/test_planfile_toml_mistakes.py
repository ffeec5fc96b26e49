"""What is said of a plan file with a mistake: where it is, what belongs there, and which word was meant."""

import pytest

from panchime.cli.main import main
from panchime.errors import PanchimeError
from panchime.planfile.reading import checked, parse
from panchime.virtual.chips import chip_named
from panchime.virtual.roaster.scenario import load_scenario

GOOD = 'name = "Mine"\nmethod = "skillet"\nlimit = 245\n'


def said(text):
    with pytest.raises(PanchimeError) as caught:
        checked(parse(text, "mine.toml"))
    return str(caught.value)


# Mistakes as people make them: line, column from 1, and what is said to belong there.
@pytest.mark.parametrize(
    ("line", "column", "expected"),
    [
        ("note = Skillet", 8, 'words stand in quotes, like "Skillet"'),
        ("note = \u201cSkillet\u201d", 8, "straight"),
        ("heater_on_relay = yes", 19, "true or false"),
        ("heater_on_relay = True", 19, "true or false"),
        ("cool_below =", 13, "after the ="),
        ("cool_below = 40,5", 16, "a point, not a comma"),
        ("cool_below = 40 C", 17, "begins with #"),
        ("longest roast = 20", 9, "key = value"),
        ("note: 'x'", 5, "key = value"),
        ("just words", 6, "key = value"),
        ('note = "Skillet', 16, "the closing quote is missing"),
        ("note = 'it's'", 12, "begins with #"),
        ('note = "C:\\pan"', 13, "must be written twice"),
        ('marks = ["beans in" "beans out"]', 21, "a comma is missing"),
        ("[[milestone]", 12, "closed as they were opened"),
        ("limit = 250", 12, "stands twice"),
    ],
)
def test_a_mistake_of_writing(line, column, expected):
    place, shown, pointer = said(GOOD + line + "\n").split("\n")
    assert place.startswith(f"mine.toml, line 4, column {column}: ")
    assert expected in place
    assert shown == "  " + line
    assert pointer.index("^") == column + 1


def test_the_same_table_in_single_brackets():
    assert "[[milestone]], two brackets" in said(GOOD + '[milestone]\nlabel = "a"\n[milestone]\nlabel = "b"\n')


def test_a_list_that_never_ends():
    assert said(GOOD + 'marks = ["beans in",\n').startswith("mine.toml, at the end of the file: a list is not closed")


def test_a_long_line_is_not_shown_as_a_wall():
    assert "\n" not in said(GOOD + "note = '" + "x" * 300 + "'x\n")


def milestone(**changes):
    items = {"label": '"A"', "rises_to": "150", "sound": '"beeps 1"'} | changes
    return GOOD + "[[milestone]]\n" + "".join(f"{key} = {value}\n" for key, value in items.items())


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        (GOOD + "limt = 3\n", "limit"),
        (GOOD + "longest_roast = 20\n", "longest_roast_min"),
        ('name = "Mine"\nmethod = "skilet"\nlimit = 245\n', "skillet"),
        (milestone(raises_to="3"), "rises_to"),
        (milestone(sound='"beep 1"'), "beeps 1"),
        (milestone(sound='"rising twise"'), "rising twice"),
        (milestone(stage='"roast"'), "roasting"),
        (milestone(waits_for='"Yellow"'), "yellow"),
    ],
)
def test_a_word_that_is_not_known_is_held_against_those_that_are(text, meant):
    assert f"Did you mean '{meant}'?" in said(text)


def test_nothing_is_guessed_where_nothing_is_near():
    assert "Did you mean" not in said(GOOD + "colour = 'red'\n")


def test_names_on_the_command_line(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    assert main(["plan", "new", "skilet"]) == 1
    assert "Did you mean 'skillet'?" in capsys.readouterr().err
    for arguments, meant in (
        (["rosts"], "roasts"),
        (["plan", "chek", "x"], "check"),
        (["roasts", "--fahrenhiet"], "--fahrenheit"),
        (["virtual", "--interpreter", "cpyton"], "cpython"),
    ):
        with pytest.raises(SystemExit) as caught:
            main(arguments)
        assert caught.value.code == 2
        assert f"Did you mean '{meant}'?" in capsys.readouterr().err
    main(["beans", "add", "Sunrise Hill"])
    assert main(["beans", "show", "Sunrsie Hill"]) == 1
    assert "Did you mean 'Sunrise Hill'?" in capsys.readouterr().err


def test_names_of_the_virtual_world(tmp_path):
    with pytest.raises(PanchimeError, match=r"no scenario 'skillet-mid'.*Did you mean 'skillet-mild'\?"):
        load_scenario("skillet-mid")
    with pytest.raises(PanchimeError, match=r"Did you mean 'MAX6675'\?"):
        chip_named("MAX667")
    broken = tmp_path / "broken.toml"
    broken.write_text("name = Mine\n", encoding="utf-8")
    with pytest.raises(PanchimeError, match="line 1, column 8: words stand in quotes"):
        load_scenario(str(broken))
