"""Plan files as people write them, mistakes and all."""

import pytest

from panchime.errors import PanchimeError
from panchime.planfile.reading import checked, mistakes, parse, read_plan
from panchime.planfile.starters import starter
from panchime.planfile.wire import fingerprint, to_json

GOOD = 'name = "Mine"\nmethod = "wok"\nlimit = 240\n'


def test_a_mistake_in_the_toml_is_told_with_line_and_column():
    with pytest.raises(PanchimeError, match=r"mine.toml, line 2, column 10: after the ="):
        parse('name = "a"\nmethod = = 3\n', "mine.toml")


def test_every_mistake_of_a_plan_is_told_one_a_line():
    plan = parse('name = ""\nmethod = "microwave"\nlimit = 412\nmood = "good"\n', "mine.toml")
    with pytest.raises(PanchimeError) as caught:
        checked(plan)
    lines = str(caught.value).splitlines()
    assert lines[0] == "mine.toml: 4 mistakes"
    assert len(lines) == 5
    assert any("412" in line and "ceiling" in line for line in lines)


WRONG = """\
name = "Mine"
method = "wok"
limit = 900
marks = ["beans in", "yellow", "yellow", "beans out"]
guide = [
  [0, 95],
  [0, 150],
]
sound_speed = 9

[[milestone]]
label = "Near: 'soon'"
rises_to = 999
sound = "yelow"

[[ milestone ]]
rises_to = 100
sound = "yellow"
"rises" = 3
"""


@pytest.mark.parametrize(
    ("line", "beginning"),
    [
        (3, "limit 900"),
        (4, "mark 3: "),
        (5, "guide point 2: "),
        (9, "sound_speed 9"),
        (13, "milestone 1 'Near: 'soon'': rises_to"),
        (14, "milestone 1 'Near: 'soon'': sound 'yelow'"),
        (16, "milestone 2: label is missing"),
        (19, "milestone 2: 'rises' is not a key"),
    ],
)
def test_a_mistake_is_told_with_its_line(line, beginning):
    with pytest.raises(PanchimeError) as caught:
        checked(parse(WRONG, "mine.toml"))
    assert f"\n  line {line}: {beginning}" in str(caught.value)


def test_no_line_is_told_where_two_could_be_meant():
    text = 'note = """\nlimit = 3\n[[milestone]]\n"""\n' + WRONG
    with pytest.raises(PanchimeError) as caught:
        checked(parse(text, "mine.toml"))
    assert "\n  limit 900" in str(caught.value)
    assert "\n  line " not in str(caught.value)


def test_one_mistake_is_one_mistake():
    with pytest.raises(PanchimeError, match=r"mine\.toml: 1 mistake\n"):
        checked(parse('name = "a"\nmethod = "wok"\n', "mine.toml"))


@pytest.mark.parametrize("text", ["limit = 2026-11-25\n", "name = inf\n", "[[milestone]]\nlabel = 12:00:00\n", "marks = {}\n"])
def test_values_that_only_toml_knows_are_mistakes_and_no_crash(text):
    assert mistakes(parse(text, "x").document)


def test_a_plan_the_board_has_no_room_for_is_a_mistake():
    milestones = "".join(
        f'[[milestone]]\nlabel = "{"ä" * 36}{number:02d}"\nrises_to = {100 + number}\nsound = "beeps 1"\n'
        for number in range(24)
    )
    found = mistakes(parse(GOOD + milestones, "x").document)
    assert len(found) == 1
    assert "there is room for 4096" in found[0]


def test_missing_file_unreadable_file_and_wrong_encoding_have_a_way_out(tmp_path):
    with pytest.raises(PanchimeError, match="panchime plan new"):
        read_plan(str(tmp_path / "nothing.toml"))
    with pytest.raises(PanchimeError, match="cannot be read"):
        read_plan(str(tmp_path))
    latin = tmp_path / "latin.toml"
    latin.write_bytes('name = "Röstung"'.encode("latin-1"))
    with pytest.raises(PanchimeError, match="UTF-8"):
        read_plan(str(latin))
    huge = tmp_path / "huge.toml"
    huge.write_bytes(b"#" * 300_000)
    with pytest.raises(PanchimeError, match="no plan file"):
        read_plan(str(huge))


def test_an_editor_that_puts_a_byte_order_mark_in_front_is_forgiven(tmp_path):
    file = tmp_path / "bom.toml"
    file.write_bytes(b"\xef\xbb\xbf" + GOOD.encode())
    assert checked(read_plan(str(file))).document["name"] == "Mine"


def test_a_deeply_nested_file_is_an_error_and_no_crash():
    with pytest.raises(PanchimeError):
        checked(parse("a = " + "[" * 5000 + "]" * 5000, "deep.toml"))


def test_the_json_is_ascii_and_the_fingerprint_hangs_on_every_byte():
    document = parse(starter("wok").replace("Wok, to City", "Wök ☕"), "x").document
    raw = to_json(document)
    assert raw.isascii()
    assert raw.decode().isprintable()
    assert fingerprint(raw) != fingerprint(raw.replace(b"240", b"241"))
