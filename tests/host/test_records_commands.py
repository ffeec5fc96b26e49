"""The person's records as the person meets them: beans, weigh, note, taste, and what show makes of them."""

import json
import sys
import unicodedata
from pathlib import Path

import pytest

from panchime.cli.main import main
from panchime.journal.journal import Journal
from panchime.journal.story import tell
from panchime.journal.summary import summarise
from panchime.records.lots import GreenLot, LotStock
from panchime.records.records import Records

sys.path.insert(0, str(Path(__file__).parent))
from made_roast import BEANS_IN_MS, FIRST_CRACK_MS, YELLOW_MS, made_roast

NASTY = "\x1b]0;owned\x07\x1b[31m[bold]=cmd|'/c'!A1[/bold]\u202e"
PNG = b"\x89PNG\r\n\x1a\n" + bytes(100)


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    """A data folder of its own with two roasts: the first undated, the second of 25 November 2025, 08:30 UTC."""
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.chdir(tmp_path)
    with Journal() as journal:
        for number, utc in ((1, None), (2, "2025-11-25T08:30:00Z")):
            # Two boards: the second one's date says nothing about the first.
            raw = made_roast(utc=utc, board=f"E661410{number}")
            journal.keep(f"{number:06}.roast", raw, summarise(tell(raw), running=False))
    return tmp_path


def shown(capsys, *arguments):
    """What a command prints; it must have gone well."""
    capsys.readouterr()
    status = main(list(arguments))
    out, err = capsys.readouterr()
    assert status == 0, err
    return out


def refused(capsys, *arguments):
    """What a command says when it refuses."""
    capsys.readouterr()
    assert main(list(arguments)) == 1
    return capsys.readouterr().err


def record(capsys, number=1):
    return json.loads(shown(capsys, "weigh", str(number), "--json"))


def test_a_lot_is_counted_down_and_runs_out(capsys):
    shown(capsys, "beans", "add", "Sunrise Hill", "--weight", "500", "--price", "18,90 EUR/kg", "--process", "washed")
    out = shown(capsys, "weigh", "1", "--green", "200", "--roasted", "170", "--lot", "sunrise")
    assert "15.0 % lost" in out
    assert "plausible" in out
    assert "about 1 roast of 200 g" in out
    assert "runs out soon" in out
    (lot,) = json.loads(shown(capsys, "beans", "--json"))
    assert (lot["used_g"], lot["left_g"], lot["roasts_left"], lot["price"]) == (200.0, 300.0, 1, "18,90 EUR/kg")
    shown(capsys, "weigh", "2", "--green", "12 oz", "--lot", "Sunrise Hill")
    (lot,) = json.loads(shown(capsys, "beans", "list", "--json"))
    assert lot["left_g"] == 0
    assert "used more than was bought" in lot["warnings"][0]


def test_the_usual_batch_is_the_lots_own():
    lot = GreenLot(1, "x", bought_mg=1_000_000)
    assert LotStock(lot, 0, 0, 90_000).roasts_left == 11
    assert LotStock(lot, 0, 0, None).roasts_left is None
    assert LotStock(GreenLot(1, "x"), 0, 0, 90_000).left_mg is None


def test_old_and_wet_beans_are_told(capsys):
    shown(capsys, "beans", "add", "Old sack", "--bought", "2020-01-01", "--moisture", "14")
    shown(capsys, "beans", "add", "Fresh", "--bought", "today", "--moisture", "11,2")
    out = shown(capsys, "beans")
    assert "Old sack: bought" in out
    assert "older than whole green beans keep" in out
    assert "moisture 14 %" in out
    assert "Fresh:" not in out


def test_a_lot_is_edited_finished_and_removed_only_when_unused(capsys):
    shown(capsys, "beans", "add", "Ridge", "--origin", "somewhere", "--weight", "1 kg")
    shown(capsys, "beans", "edit", "ridge", "--name", "High Ridge", "--origin", "", "--crop", "2025")
    shown(capsys, "weigh", "1", "--green", "90", "--lot", "high")
    assert "roast 1 was made of it" in refused(capsys, "beans", "remove", "high")
    (lot,) = json.loads(shown(capsys, "beans", "--json"))
    assert (lot["name"], lot["origin"], lot["crop"], lot["bought_g"]) == ("High Ridge", None, "2025", 1000.0)
    shown(capsys, "beans", "finish", "high")
    assert json.loads(shown(capsys, "beans", "--json")) == []
    assert json.loads(shown(capsys, "beans", "--all", "--json"))[0]["left_g"] == 0
    shown(capsys, "beans", "reopen", "high")
    shown(capsys, "weigh", "1", "--forget")
    shown(capsys, "beans", "remove", "high")
    assert json.loads(shown(capsys, "beans", "--all", "--json")) == []


def test_lots_are_told_apart_by_name(capsys):
    for name in ("North", "Northern", "Nord"):
        shown(capsys, "beans", "add", name)
    assert "already" in refused(capsys, "beans", "add", "NORTH")
    assert "'North' or 'Northern' or 'Nord'" in refused(capsys, "beans", "show", "nor")
    assert shown(capsys, "beans", "show", "north").startswith("lot")
    assert "no green lot" in refused(capsys, "weigh", "1", "--green", "90", "--lot", "South")
    assert record(capsys)["green_g"] is None, "nothing is written when a part of it is refused"


def test_marks_are_corrected_added_and_struck_out_with_the_boards_beside(capsys):
    shown(capsys, "note", "1", "--mark", "yellow", "3:30", "--mark", "second crack", "@11:00", "--unmark", "first crack")
    out = shown(capsys, "show", "1")
    assert "corrected, board had 4:00" in out
    assert "struck out, board had it found" in out
    roast = json.loads(shown(capsys, "show", "1", "--json"))
    assert [(mark["name"], mark["t_ms"], mark["source"], mark["recorded_ms"]) for mark in roast["marks"]] == [
        ("beans in", BEANS_IN_MS, "pressed", None),
        ("yellow", BEANS_IN_MS + 210_000, "corrected", YELLOW_MS),
        ("second crack", 660_000, "added", None),
        ("beans out", 720_000, "sent", None),
    ]
    assert roast["struck_marks"] == [{"name": "first crack", "t_ms": FIRST_CRACK_MS, "source": "found"}]
    assert [stage["name"] for stage in roast["stages"]] == ["drying"]
    with Journal() as journal:
        assert tell(journal.raw(1)).mark("yellow").t_ms == YELLOW_MS, "the log is not touched"
    shown(capsys, "note", "1", "--as-recorded", "yellow", "--as-recorded", "first crack", "--as-recorded", "second crack")
    roast = json.loads(shown(capsys, "show", "1", "--json"))
    assert roast["struck_marks"] == []
    assert {mark["recorded_ms"] for mark in roast["marks"]} == {None}


def test_moving_beans_in_moves_lengths_and_the_list(capsys):
    shown(capsys, "note", "1", "--mark", "beans in", "@1:00")
    (first, _) = json.loads(shown(capsys, "roasts", "--json"))
    assert first["roast_ms"] == 720_000 - 60_000
    assert first["marks"][0] == {"name": "beans in", "t_ms": 60_000, "source": "corrected"}


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--mark", "yellow", "99:00"], "outside the log"),
        (["--mark", "yellow", "3:77"], "no time"),
        (["--unmark", "third crack"], "no mark 'third crack'"),
        (["--when", "2999-01-01"], "future"),
        (["--photo", "nowhere.jpg"], "cannot be read"),
        (["--remove-note", "1"], "no note 1"),
        ([""], "empty"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_written(capsys, arguments, words):
    assert words in refused(capsys, "note", "1", *arguments, "--degree", "City")
    assert record(capsys)["degree"] is None


def test_the_persons_word_on_when_stands_beside_the_clock(capsys):
    shown(capsys, "note", "1", "--when", "2025-11-20")
    shown(capsys, "note", "2", "--when", "2025-11-01")
    assert record(capsys)["said_when"]["text"] == "2025-11-20"
    listed = shown(capsys, "roasts")
    assert "2025-11-20, as" in listed
    assert "2025-11-25 " in listed, "a proven date stays"
    assert "the board's clock says otherwise" in shown(capsys, "note", "2")
    assert json.loads(shown(capsys, "roasts", "--json"))[0]["when"]["kind"] == "unknown"
    shown(capsys, "note", "1", "--forget", "when")
    assert record(capsys)["said_when"] is None


def test_notes_photos_and_tastings_come_back_as_they_were(capsys, home):
    (home / "pan ../x.png").parent.mkdir()
    (home / "pan ../x.png").write_bytes(PNG)
    shown(capsys, "note", "1", "a bit uneven", "--photo", "pan ../x.png", "--day-temperature", "64F", "--degree", "City")
    shown(capsys, "note", "1", "second thought")
    shown(capsys, "taste", "1", "nutty", "--score", "sweetness=7/10", "--when", "2026-01-02")
    shown(capsys, "taste", "1", "--score", "Sweetness=8")
    kept = record(capsys)
    assert [note["text"] for note in kept["notes"]] == ["a bit uneven", "second thought"]
    assert kept["photos"] == [{"name": "x.png", "media_type": "image/png", "bytes": len(PNG)}]
    assert kept["day_temperature_c"] == 17.78
    assert [(t["words"], t["scores"][0]["value"], t["scores"][0]["highest"]) for t in kept["tastings"]] == [
        ("nutty", 7.0, 10.0),
        ("", 8.0, 10.0),
    ]
    out = shown(capsys, "show", "1")
    for words in ("a bit uneven", "second thought", "nutty", "sweetness 7/10", "x.png", "City", "18 °C"):
        assert words in out
    shown(capsys, "note", "1", "--save-photos", "out")
    assert (home / "out" / "roast-1-1-x.png").read_bytes() == PNG
    assert "already" in refused(capsys, "note", "1", "--save-photos", "out")
    shown(capsys, "note", "1", "--remove-note", "1", "--remove-photo", "1")
    shown(capsys, "taste", "1", "--remove", "2")
    kept = record(capsys)
    assert [note["text"] for note in kept["notes"]] == ["second thought"]
    assert (kept["photos"], len(kept["tastings"])) == ([], 1)


def test_only_pictures_are_taken_for_photos(capsys, home):
    (home / "page.png").write_text("<script>")
    assert "no photo" in refused(capsys, "note", "1", "--photo", "page.png")


def test_nothing_typed_reaches_the_terminal_as_a_command(capsys):
    shown(capsys, "beans", "add", NASTY, "--origin", NASTY, "--note", NASTY)
    shown(capsys, "weigh", "1", "--green", "90", "--roasted", "76", "--lot", NASTY)
    shown(capsys, "note", "1", NASTY, "--degree", NASTY, "--mark", NASTY, "5:00")
    shown(capsys, "taste", "1", NASTY, "--score", f"{NASTY}=3")
    for command in (["beans"], ["beans", "show", NASTY], ["weigh", "1"], ["note", "1"], ["taste"], ["show", "1"],
                    ["ready"], ["cost"], ["roasts"]):  # fmt: skip
        out = shown(capsys, *command)
        assert [c for c in out if unicodedata.category(c) in {"Cc", "Cf"} and c != "\n"] == [], command
        assert max(map(len, out.splitlines())) <= 80, command
    assert "[bold]" in shown(capsys, "note", "1")


def test_a_roast_that_is_pulled_again_keeps_its_record(capsys):
    shown(capsys, "weigh", "1", "--green", "90", "--roasted", "76.5")
    raw = made_roast(board="E6614101")
    with Journal() as journal:
        journal.keep("000001.roast", raw, summarise(tell(raw), running=False))
        assert Records(journal).of(1).loss == pytest.approx(0.15)


@pytest.mark.parametrize("command", ["weigh", "note", "taste", "cost"])
def test_a_roast_that_is_not_there_is_refused(capsys, command):
    assert "no roast 9" in refused(capsys, command, "9")
