"""Roasts in from other people's files, and out into other programs'."""

import csv
import io
import json
import sys
from pathlib import Path

import duckdb
import pytest
from hypothesis import given
from hypothesis import strategies as st

from panchime.cli.main import main
from panchime.errors import PanchimeError
from panchime.journal.journal import Journal
from panchime.journal.story import tell
from panchime.journal.summary import summarise
from panchime.records.hand_log import evenly, read_hand_log, seconds_of
from panchime.records.photos import harmless_name, media_type_of
from panchime.records.records import Records
from panchime_fw.logreader import decode

sys.path.insert(0, str(Path(__file__).parent))
from made_roast import END_MS, PLAN, made_roast

HAND = (
    b"Clock;Beans;remark\r\n0:10;392;=cmd|'/c calc'!A1\r\n0:40;300,5;\r\n1:10;;nothing read\r\n1:40;250;\r\n"
    b"3:40;320;\r\n8:40;395;crack\r\n9:10;410;\r\n"
)
IMPORT = ["import", "hand.csv", "--time", "clock", "--temperature", "2", "--unit", "F", "--mark", "beans in=0:10",
          "--mark", "first crack=8:40", "--mark", "beans out=9:10"]  # fmt: skip


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    """An empty journal and a hand-written log in the folder."""
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "hand.csv").write_bytes(HAND)
    return tmp_path


def keep(**changes):
    raw = made_roast(**changes)
    with Journal() as journal:
        return journal.keep("000012.roast", raw, summarise(tell(raw), running=False))


def test_a_hand_written_log_becomes_a_roast(home, capsys):
    assert main([*IMPORT, "--when", "2026-01-20", "--method", "skillet", "--name", "Old notebook"]) == 0
    capsys.readouterr()
    main(["show", "1", "--json"])
    roast = json.loads(capsys.readouterr().out)
    assert (roast["plan"], roast["method"], roast["state"], roast["problems"]) == ("Old notebook", "skillet", "complete", [])
    assert [(mark["name"], mark["t_ms"], mark["source"]) for mark in roast["marks"]] == [
        ("beans in", 0, "written down"),
        ("first crack", 510_000, "written down"),
        ("beans out", 540_000, "written down"),
    ]
    # 392 degF is 200 degC, 410 degF is 210 degC
    assert roast["marks"][0]["temperature_c"] == 200.0
    assert roast["end_temperature_c"] == 210.0
    assert roast["roast_ms"] == 540_000
    assert roast["record"]["imported_from"] == "hand.csv"
    assert roast["record"]["said_when"]["text"] == "2026-01-20"
    assert main(["export", "1", "--imported", "back.csv"]) == 0
    assert (home / "back.csv").read_bytes() == HAND
    main(["export", "1", "--raw", "back.roast"])
    assert decode((home / "back.roast").read_bytes()).problems == []


def test_between_readings_lies_a_straight_line_and_long_gaps_stay(capsys):
    main(IMPORT)
    with Journal() as journal:
        story = Records(journal).story(1)
    at = dict(zip(story.t_ms, story.temperature_centi, strict=True))
    assert at[30_000] == 14_917  # 300.5 degF
    assert at[60_000] == pytest.approx((14_917 + 12_111) / 2, abs=1), "the row without a reading is left out"
    assert at[90_000] == 12_111  # 250 degF
    assert not [t_ms for t_ms in at if 210_000 < t_ms < 510_000], "five minutes without a reading are five minutes without one"


def test_the_same_file_is_taken_once(capsys):
    assert main(IMPORT) == 0
    assert main(IMPORT) == 1
    assert "as roast 1" in capsys.readouterr().err
    assert main([*IMPORT[:-2], "--replace"]) == 0
    with Journal() as journal:
        assert [entry.number for entry in journal.entries()] == [1]
        assert journal.entry(1).roast_ms is None


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (["--time", "hour"], "it has: Clock, Beans, remark"),
        (["--temperature", "9"], "no column '9'"),
        (["--temperature", "remark"], "line 2"),
        (["--time", "2", "--temperature", "1"], "no temperature"),
        (["--unit", "C"], "line 8"),
        (["--mark", "late=20:00"], "outside"),
        (["--mark", "late"], "name and a time"),
        (["--mark", "beans in=1:00"], "twice"),
        (["--method", "spoon"], "spoon"),
    ],
)
def test_what_is_wrong_with_a_file_is_said_with_its_place(capsys, change, words):
    assert main([*IMPORT, *change]) == 1
    error = capsys.readouterr().err
    assert words in error
    with Journal() as journal:
        assert journal.entries() == []


@pytest.mark.parametrize(
    ("raw", "words"),
    [(b"", "empty"), (b"t,c\n0,20\n", "1 readings"), (b"t,c\n0,20\n0,21\n", "not later"), (b"t,c\n5,20\n1,21\n", "not later"),
     (b"t,c\n0,20\n99999,21\n", "hours"), (b"t,c\n\xff,20\n", "UTF-8"), (b"t,c\nnoon,20\n1,21\n", "'noon' is no time")],
)  # fmt: skip
def test_a_file_that_is_no_log_is_refused(raw, words):
    with pytest.raises(PanchimeError, match=words):
        read_hand_log(raw, "it", "t", "c", "C")


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(raw):
    try:
        read_hand_log(b"t,c\n" + raw, "it", "t", "c", "C")
    except PanchimeError:
        return


def test_dense_readings_stay_as_they_are():
    raw = "t,c\n" + "".join(f"{index / 10},{100 + index / 10}\n" for index in range(100))
    log = read_hand_log(raw.encode(), "it", "t", "c", "C")
    sample_ms, samples = evenly(log)
    assert sample_ms == 250
    assert set(samples) <= set(zip(log.t_ms, log.temperature_centi, strict=True))
    assert len(samples) == 34, "ten a second are thinned to one in three"


def test_times_of_a_file():
    assert [seconds_of(text, "it") for text in ("522", "8:42", "0:08:42", "8:42,5")] == [522, 522, 522, 522.5]


def test_an_imported_day_says_nothing_about_another(home, capsys):
    main([*IMPORT, "--when", "2026-01-20 10:00"])
    (home / "hand.csv").write_bytes(HAND.replace(b"395", b"396"))
    main(IMPORT)
    capsys.readouterr()
    main(["roasts", "--json"])
    first, second = json.loads(capsys.readouterr().out)
    assert first["when"]["kind"] == "exact"
    assert second["when"]["kind"] == "unknown"


def test_photo_names_lead_nowhere():
    assert harmless_name("../../etc/passwd") == "_.._etc_passwd"
    assert harmless_name("..") == "photo"
    assert "/" not in harmless_name("a/b\\c\x00d")
    assert media_type_of(b"\xff\xd8\xff\xe0") == "image/jpeg"
    assert media_type_of(b"\x00\x00\x00\x18ftypheic") == "image/heic"
    assert media_type_of(b"<svg>") is None


def test_parquet_is_read_by_another_program(home, capsys):
    keep(utc="2026-11-25T08:30:00Z")
    keep(utc=None, uptime_ms=5_000_000, plan=PLAN | {"name": "=1+1"})
    main(["beans", "add", "Sunrise"])
    main(["weigh", "2", "--green", "90", "--roasted", "76.5", "--lot", "Sunrise"])
    main(["note", "1", "--mark", "yellow", "3:30"])
    assert main(["export", "--all", "--parquet", "all.parquet"]) == 0
    table = duckdb.sql("SELECT * FROM 'all.parquet'")
    assert duckdb.sql("SELECT roast, count(*) FROM 'all.parquet' GROUP BY 1 ORDER BY 1").fetchall() == [
        (1, END_MS // 250),
        (2, END_MS // 250),
    ]
    assert duckdb.sql(
        "SELECT mark, round(since_beans_in_s) FROM 'all.parquet' WHERE roast = 1 AND mark IS NOT NULL ORDER BY time_s"
    ).fetchall() == [("beans in", 0.0), ("yellow", 210.0), ("first crack", 510.0), ("beans out", 630.0)]
    assert duckdb.sql("SELECT DISTINCT plan, lot, green_g FROM 'all.parquet' WHERE roast = 2").fetchall() == [
        ("=1+1", "Sunrise", 90.0)
    ]
    began = duckdb.sql("SELECT DISTINCT epoch_ms(began_utc) FROM 'all.parquet' WHERE roast = 1").fetchall()
    assert began == [(1_795_595_400_000,)]
    with Journal() as journal:
        story = Records(journal).story(1)
    column = duckdb.sql("SELECT bean_temperature_c FROM 'all.parquet' WHERE roast = 1 ORDER BY time_s").fetchall()
    assert [value for (value,) in column] == [centi / 100 for centi in story.temperature_centi]
    assert "relay_closed" in table.columns


def test_without_pyarrow_the_error_says_what_to_install(monkeypatch, capsys):
    keep()
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    assert main(["export", "1", "--parquet", "one.parquet"]) == 1
    assert "pip install 'panchime[parquet]'" in capsys.readouterr().err


def test_json_of_many_is_what_show_says_of_each(home, capsys):
    keep()
    keep(uptime_ms=5_000_000)
    assert main(["export", "1-9", "--json", "all.json"]) == 0
    capsys.readouterr()
    main(["show", "2", "--json"])
    assert json.loads((home / "all.json").read_text())[1] == json.loads(capsys.readouterr().out)


@pytest.mark.parametrize(
    "arguments",
    [["--csv"], ["1-2", "--csv"], ["1-2", "--raw", "x"], ["7-9", "--json"], ["one", "--json"], ["1-", "--json"],
     ["1", "--all", "--json"], ["1", "--imported", "x"]],
)  # fmt: skip
def test_an_export_that_cannot_be_is_refused(arguments, capsys):
    keep()
    keep(uptime_ms=5_000_000)
    assert main(["export", *arguments]) == 1
    assert capsys.readouterr().out == ""


def test_csv_has_the_corrected_marks_and_no_formulas(home, capsys):
    keep(plan=PLAN | {"marks": ["beans in", "=cmd", "first crack", "second crack", "beans out"]})
    main(["note", "1", "--mark", "+evil", "3:30"])
    assert main(["export", "1", "--csv", "one.csv"]) == 0
    rows = list(csv.DictReader(io.StringIO((home / "one.csv").read_bytes().decode())))
    assert [row["mark"] for row in rows if row["mark"]] == ["beans in", "'+evil", "'=cmd", "first crack", "beans out"]
