"""The distance between two sounds, the warning of a plan's likeness, and listening to a plan on this computer."""

import itertools
import tomllib
import wave
from importlib import resources

import pytest

from panchime.cli.main import main
from panchime.demo.hearing import Ear
from panchime.planfile.starters import STARTER_METHODS, starter
from panchime.planfile.telling_apart import OWN, warnings
from panchime.sound.listening import plan_changes
from panchime.sound.order import in_order
from panchime_fw import builtin_plan, life_safety, sound_words
from panchime_fw.plan import check, compile_plan
from panchime_fw.player import CUE_GAP_MS
from panchime_fw.sound_distance import TOLD_APART, WELL_APART, distance

SHIPPED = {method: tomllib.loads(starter(method)) for method in STARTER_METHODS} | {
    "built-in": builtin_plan.DOCUMENT,
    "demonstration": tomllib.loads(resources.files("panchime.demo").joinpath("window-sill.toml").read_text()),
}


def between(first, second, speed=100):
    return distance(sound_words.compile_sound(first, speed), sound_words.compile_sound(second, speed))


def document(*written, **more):
    items = [{"label": f"m{place}", "sound": sound, "rises_to": 100 + place} for place, sound in enumerate(written)]
    return {"name": "T", "method": "other", "limit": 245, "milestone": items, **more}


class TestDistance:
    def test_is_none_to_itself_and_the_same_both_ways(self):
        texts = [*sound_words.PATTERNS, "morse Q", "long low", "rising middle"]
        for first, second in itertools.product(texts, repeat=2):
            assert between(first, second) == pytest.approx(between(second, first))
            assert (between(first, second) == 0) == (first == second)

    @pytest.mark.parametrize(
        ("first", "second"),
        [
            ("beeps 1", "beeps 2"), ("beeps 2", "beeps 3"), ("rising", "falling"), ("rising", "rising twice"),
            ("long", "beeps 1"),
            ("morse A", "morse N"), ("morse C", "morse Y"), ("long", "long low"), ("rising", "rising low"),
        ],
    )  # fmt: skip
    def test_one_plain_difference_is_told_apart(self, first, second):
        assert between(first, second) >= TOLD_APART

    @pytest.mark.parametrize(
        ("first", "second"),
        [
            ("morse E", "beeps 1"), ("morse S", "beeps 3"), ("morse T", "long"), ("morse 5", "morse H"),
            ("beeps 2", "beeps 2 middle"),
            ("rising middle", "rising low"),
        ],
    )  # fmt: skip
    def test_what_differs_only_in_name_or_a_little_is_not(self, first, second):
        assert between(first, second) < TOLD_APART

    def test_a_plans_speed_changes_nothing(self):
        assert between("morse C", "beeps 3", 60) == pytest.approx(between("morse C", "beeps 3", 150), abs=0.02)

    def test_a_further_difference_never_makes_two_sounds_nearer(self):
        assert between("beeps 1", "beeps 3") > between("beeps 1", "beeps 2")
        assert between("beeps 2", "beeps 2 low") > between("beeps 2", "beeps 2 middle")


def test_all_names_and_what_the_board_says_are_well_apart():
    known = {name: sound_words.compile_sound(name) for name in sound_words.NAMED} | dict(OWN)
    near = {
        (first, second): round(distance(known[first], known[second]), 2)
        for first, second in itertools.combinations(known, 2)
        if distance(known[first], known[second]) < WELL_APART
    }
    assert near == {}


@pytest.mark.parametrize("name", sorted(SHIPPED))
def test_no_shipped_plan_is_warned_of(name):
    assert warnings(SHIPPED[name]) == []


def test_a_warning_names_the_pair_and_proposes_what_cures_it():
    written = ["long", "morse T", "beeps 3", "morse S"]
    plan = document(*written)
    found = warnings(plan)
    assert len(found) == 2
    assert "'m0' (long) and 'm1' (morse T) sound alike" in found[0]
    for sentence in found:
        label, proposed = sentence.split("for '")[1].split("' write sound = ")
        next(item for item in plan["milestone"] if item["label"] == label)["sound"] = proposed.strip('"')
        assert check(plan) == []
    assert warnings(plan) == []


def test_the_boards_own_sounds_are_warned_of():
    (sentence,) = warnings(document("beeps 1 low"))
    assert "sounds like the board's own 'press refused'" in sentence


def test_more_sounds_than_an_ear_tells_apart():
    everything = [f"{pattern}{pitch}" for pattern in sound_words.PATTERNS for pitch in ("", " low", " middle")]
    plan = document(*everything[:24])
    assert check(plan) == []
    assert any("write sound" in sentence or "drop one" in sentence for sentence in warnings(plan))


def test_a_proposal_is_no_life_safety_signal():
    plan = document("beeps 1", "beeps 1", "beeps 1", sound_speed=1.4)
    for sentence in warnings(plan):
        proposed = sentence.split('sound = "')[1].rstrip('"')
        assert life_safety.resembles(sound_words.compile_sound(proposed, 140)) == ""


def test_plan_check_warns_and_goes_on(tmp_path, capsys):
    from panchime.planfile.wire import to_toml

    (tmp_path / "plan.toml").write_text(to_toml(document("beeps 1", "morse E")))
    assert main(["plan", "check", str(tmp_path / "plan.toml")]) == 0
    shown = capsys.readouterr()
    assert "no mistakes; 2 milestones" in shown.out
    assert shown.err.startswith("warning: 'm0' (beeps 1) and 'm1' (morse E) sound alike; for 'm1' write sound = ")


def test_plan_check_refuses_a_fire_alarm(tmp_path, capsys):
    from panchime.planfile.wire import to_toml

    (tmp_path / "plan.toml").write_text(to_toml(document("morse TTT", sound_speed=0.84)))
    assert main(["plan", "check", str(tmp_path / "plan.toml")]) != 0
    assert "could be taken for a fire alarm (ISO 8201: three pulses of 0.5 s)" in capsys.readouterr().err


class TestListening:
    def test_in_the_order_they_come(self):
        plan = compile_plan(SHIPPED["skillet"])
        order, others = in_order(plan)
        labels = [plan.milestones[index].label for index in order]
        assert labels[:4] == ["Load now", "Yellow soon", "First crack near", "First crack"]
        assert others == []

    @pytest.mark.parametrize("name", sorted(SHIPPED))
    def test_every_sound_is_heard_once_and_named(self, name):
        """The rendered changes, heard by the ear of the demonstration, are the plan's sounds in the told order."""
        plan = compile_plan(SHIPPED[name])
        planned, changes = plan_changes(plan)
        ear = Ear(plan)
        for change in changes:
            ear.hear({"t_ms": change.t_ms, "hz": change.hz})
        heard = ear.finished(changes[-1].t_ms + 5000)
        assert [sound.meaning for sound in heard] == [sound.label for sound in planned]
        assert sorted(sound.label for sound in planned) == sorted(milestone.label for milestone in plan.milestones)
        for change, following in itertools.pairwise(changes):
            if change.hz == 0 and following.t_ms in {sound.t_ms for sound in planned}:
                assert following.t_ms - change.t_ms == CUE_GAP_MS

    def test_a_file_is_written_and_not_written_over(self, tmp_path, capsys):
        from panchime.planfile.wire import to_toml

        (tmp_path / "plan.toml").write_text(to_toml(SHIPPED["skillet"]))
        arguments = ["plan", "listen", str(tmp_path / "plan.toml"), "-o", str(tmp_path / "plan.wav")]
        assert main(arguments) == 0
        assert "First crack near   (first crack soon)" in capsys.readouterr().out
        with wave.open(str(tmp_path / "plan.wav")) as file:
            assert file.getnframes() / file.getframerate() > 8
        assert main(arguments) != 0
        assert "--force writes over it" in capsys.readouterr().err
        assert main([*arguments, "--force"]) == 0

    def test_without_a_player_the_file_is_named(self, tmp_path, capsys, monkeypatch):
        from panchime.planfile.wire import to_toml

        monkeypatch.setenv("PATH", str(tmp_path))
        monkeypatch.setattr("sys.platform", "linux")
        monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
        (tmp_path / "plan.toml").write_text(to_toml(document("long")))
        assert main(["plan", "listen", str(tmp_path / "plan.toml")]) == 0
        line = capsys.readouterr().out.splitlines()[-1]
        assert line.startswith("Nothing here plays sound; the WAV file is ")
        with wave.open(line.split("file is ")[1].rstrip(".")) as file:
            assert file.getnframes() > 0

    def test_a_player_that_is_there_is_used(self, tmp_path, capsys, monkeypatch):
        from panchime.planfile.wire import to_toml

        player = tmp_path / "aplay"
        player.write_text(f'#!/bin/sh\necho "$@" > {tmp_path}/played\n')
        player.chmod(0o755)
        monkeypatch.setenv("PATH", f"{tmp_path}:/bin:/usr/bin")
        monkeypatch.setattr("sys.platform", "linux")
        (tmp_path / "plan.toml").write_text(to_toml(document("long")))
        assert main(["plan", "listen", str(tmp_path / "plan.toml")]) == 0
        assert (tmp_path / "played").read_text().startswith("-q ")
        assert "WAV" not in capsys.readouterr().out
