"""The command line as a person meets it: exit status, errors, files, other programs."""

import csv
import io
import json
import os
import shlex
import subprocess
import sys
import tomllib
import zlib
from pathlib import Path

import pytest

from panchime.cli.boards import chosen_port
from panchime.cli.main import COMMANDS, main
from panchime.journal.journal import Journal
from panchime.journal.story import tell
from panchime.journal.summary import summarise
from panchime.planfile.starters import starter
from panchime_fw import events, faults, trips

sys.path.insert(0, str(Path(__file__).parent))
from made_roast import END_MS, PLAN, made_roast, usual_events
from scripted_board import ScriptedBoard


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    """A data folder of its own, and no boards but those a test names."""
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path / "home"))
    monkeypatch.delenv("PANCHIME_PORT", raising=False)
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.setattr("serial.tools.list_ports.comports", list)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def keep(raw, name="000012.roast"):
    with Journal() as journal:
        return journal.keep(name, raw, summarise(tell(raw), running=False))


def test_without_a_command_and_with_a_wrong_one_usage_is_shown(capsys):
    for arguments in ([], ["fetch"], ["show"], ["show", "one"], ["export", "1"], ["plan"], ["--nonsense"]):
        with pytest.raises(SystemExit) as caught:
            main(arguments)
        assert caught.value.code == 2
    assert "usage: panchime" in capsys.readouterr().err


def test_help_names_every_command(capsys):
    with pytest.raises(SystemExit) as caught:
        main(["--help"])
    assert caught.value.code == 0
    shown = capsys.readouterr().out
    for command in COMMANDS:
        assert f"    {command.name} " in shown


def test_help_imports_nothing_heavy():
    code = (
        "import sys\nfrom panchime.cli.main import main\n"
        "try: main(['--help'])\nexcept SystemExit: pass\n"
        "heavy = {'rich', 'serial', 'sqlite3', 'platformdirs', 'tomllib', 'json', 'panchime.virtual'} & set(sys.modules)\n"
        "sys.exit(' '.join(heavy) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_python_m_is_the_same_command():
    done = subprocess.run([sys.executable, "-m", "panchime", "show", "7"], capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert done.stderr.startswith("panchime: the journal has no roast 7")


def test_an_error_goes_to_stderr_with_status_1(capsys):
    assert main(["show", "7"]) == 1
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err == "panchime: the journal has no roast 7, it is empty: 'panchime pull' fetches the roasts of a board\n"


def test_an_interrupt_is_quiet(monkeypatch, capsys):
    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("panchime.cli.roasts.run", interrupted)
    assert main(["roasts"]) == 130
    assert capsys.readouterr() == ("", "")


def test_a_closed_pipe_is_quiet(home):
    keep(made_roast())
    script = f"{sys.executable} -m panchime show 1 --json | head -c 10"
    done = subprocess.run(["sh", "-c", script], capture_output=True, text=True, check=False)
    assert done.stderr == ""
    assert done.stdout == '{\n  "numbe'


def test_a_home_that_cannot_be_made_is_an_error_with_a_way_out(home, monkeypatch, capsys):
    (home / "file").write_text("")
    monkeypatch.setenv("PANCHIME_HOME", str(home / "file" / "below"))
    assert main(["roasts"]) == 1
    assert "set PANCHIME_HOME" in capsys.readouterr().err


def test_an_empty_journal_says_what_fills_it(capsys):
    assert main(["roasts"]) == 0
    assert "panchime pull" in capsys.readouterr().out
    assert main(["roasts", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == []


def test_roasts_and_show_as_json(capsys):
    keep(made_roast(utc="2026-11-25T08:30:00Z"))
    main(["roasts", "--json"])
    (listed,) = json.loads(capsys.readouterr().out)
    assert listed["when"] == {
        "kind": "exact",
        "from_utc": "2026-11-25T08:30:00.000Z",
        "to_utc": "2026-11-25T08:30:00.000Z",
    }
    assert listed["roast_ms"] == 630_000
    main(["show", "1", "--json"])
    shown = json.loads(capsys.readouterr().out)
    assert {key: shown[key] for key in listed if key != "marks"} == {key: listed[key] for key in listed if key != "marks"}
    assert len(shown["samples"]["t_ms"]) == len(shown["samples"]["bean_temperature_c"]) == END_MS // 250
    assert shown["plan_document"] == PLAN


def test_show_is_in_the_plans_unit_unless_told_otherwise(capsys):
    keep(made_roast(plan=PLAN | {"unit": "F", "limit": 470}))
    main(["show", "1"])
    assert "°F" in capsys.readouterr().out
    main(["show", "1", "--celsius"])
    assert "°F" not in capsys.readouterr().out


def test_csv_has_crlf_equal_columns_and_one_row_a_sample(home):
    keep(made_roast([*usual_events()[:4], (400_000, events.RELAY, 1, 0, 0)]))
    assert main(["export", "1", "--csv", "roast.csv"]) == 0
    raw = (home / "roast.csv").read_bytes()
    assert raw.count(b"\r\n") == raw.count(b"\n") == END_MS // 250 + 1
    rows = list(csv.DictReader(io.StringIO(raw.decode())))
    assert list(rows[0]) == [
        "time_s",
        "bean_temperature_c",
        "cold_junction_c",
        "rate_of_rise_c_per_min",
        "mark",
        "milestone",
        "relay",
        "fault",
    ]
    assert [row["mark"] for row in rows if row["mark"]] == ["beans in", "yellow"]
    assert [float(row["time_s"]) for row in rows if row["mark"] == "yellow"] == [pytest.approx(330, abs=0.3)]
    closed = next(row for row in rows if row["relay"] == "closed")
    assert float(closed["time_s"]) == pytest.approx(400, abs=0.3)
    assert float(rows[-1]["bean_temperature_c"]) == tell(made_roast()).temperature_centi[-1] / 100


def test_csv_shows_faults_and_trips(capsysbinary):
    keep(made_roast([(600_000, events.TRIP, trips.SENSOR_FAULT, 0, 0)], faults=[(599_000, 601_000, faults.OPEN)]))
    assert main(["export", "1", "--csv"]) == 0
    rows = list(csv.DictReader(io.StringIO(capsysbinary.readouterr().out.decode())))
    faulty = [row for row in rows if row["fault"]]
    assert len(faulty) == 8
    assert all(row["bean_temperature_c"] == "" for row in faulty)
    assert "thermocouple open; trip: probe fault" in {row["fault"] for row in faulty}


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\uff1d"])
def test_csv_gives_a_spreadsheet_no_formula(capsysbinary, start):
    evil = start + 'HYPERLINK("http://x.invalid","a,b")'
    keep(made_roast(plan=PLAN | {"marks": [evil, *PLAN["marks"][1:]]}))
    main(["export", "1", "--csv"])
    rows = list(csv.DictReader(io.StringIO(capsysbinary.readouterr().out.decode())))
    assert "'" + evil in {row["mark"] for row in rows}


def test_raw_is_what_the_board_kept_and_nothing_is_written_over(home, capsys):
    keep(made_roast())
    assert main(["export", "1", "--raw", "a.roast"]) == 0
    assert (home / "a.roast").read_bytes() == made_roast()
    assert main(["export", "1", "--raw", "a.roast"]) == 1
    assert "--force" in capsys.readouterr().err
    assert main(["export", "1", "--raw", "a.roast", "--force"]) == 0
    assert main(["export", "1", "--csv", "no/such/folder.csv"]) == 1


def test_plan_new_lists_writes_and_does_not_write_over(home, capsys):
    assert main(["plan", "new"]) == 0
    assert "oven tray" in capsys.readouterr().out
    assert main(["plan", "new", "oven-tray"]) == 0
    assert (home / "oven-tray.toml").read_text() == starter("oven tray")
    assert main(["plan", "new", "oven tray"]) == 1
    assert "is there already" in capsys.readouterr().err
    assert main(["plan", "new", "microwave"]) == 1
    assert main(["plan", "new", "wok", "-"]) == 0
    assert capsys.readouterr().out == starter("wok")


@pytest.mark.parametrize(
    "words",
    [
        ("--fahrenheit", "skillet", "mine.toml"), ("skillet", "--fahrenheit", "mine.toml"),
        ("skillet", "mine.toml", "--fahrenheit"), ("skillet", "--fahrenheit", "--", "mine.toml"),
    ],
)  # fmt: skip
def test_an_option_may_stand_anywhere(home, words):
    assert main(["plan", "new", *words]) == 0
    assert tomllib.loads((home / "mine.toml").read_text(encoding="utf-8"))["unit"] == "F"


def test_one_name_too_many_is_still_an_error(home, capsys):
    with pytest.raises(SystemExit):
        main(["plan", "new", "skillet", "--fahrenheit", "one.toml", "two.toml"])
    assert "not known or too many: two.toml" in capsys.readouterr().err


def test_an_option_of_another_command_is_not_offered_again(home, capsys):
    with pytest.raises(SystemExit):
        main(["plan", "send", "mine.toml", "--force"])
    told = capsys.readouterr().err
    assert "--force belongs to another command" in told
    assert "Did you mean" not in told


def test_plan_check(home, capsys):
    main(["plan", "new", "wok"])
    assert main(["plan", "check", "wok.toml"]) == 0
    (home / "bad.toml").write_text('name = "x"\nmethod = "wok"\nlimit = 900\nunit = "K"\n')
    assert main(["plan", "check", "bad.toml"]) == 1
    assert "bad.toml: 2 mistakes" in capsys.readouterr().err


def test_plan_send_and_read_give_the_comments_back(home, capsys, monkeypatch):
    main(["plan", "new", "skillet"])
    with ScriptedBoard() as peer:
        assert main(["plan", "send", "skillet.toml", "--port", peer.url]) == 0
        assert json.loads(peer.plan) == tomllib.loads(starter("skillet"))
        monkeypatch.setenv("PANCHIME_PORT", peer.url)
        assert main(["plan", "read", "back.toml"]) == 0
        assert (home / "back.toml").read_text() == (home / "skillet.toml").read_text()
        assert main(["plan", "show", "--board"]) == 0
    assert "Skillet, to City" in capsys.readouterr().out


def test_a_plan_another_computer_sent_comes_back_whole_without_comments(home):
    with ScriptedBoard() as peer:
        peer.plan = json.dumps(PLAN, separators=(",", ":")).encode()
        assert main(["plan", "read", "back.toml", "--port", peer.url]) == 0
    assert tomllib.loads((home / "back.toml").read_text()) == PLAN


def test_a_plan_with_mistakes_is_not_sent(home, capsys):
    (home / "bad.toml").write_text('name = "x"\n')
    with ScriptedBoard() as peer:
        assert main(["plan", "send", "bad.toml", "--port", peer.url]) == 1
        assert peer.received == []
    assert "bad.toml: 2 mistakes" in capsys.readouterr().err


def test_a_plan_that_comes_back_different_is_an_error(home, capsys):
    main(["plan", "new", "skillet"])
    other = b'{"name":"another"}'
    with ScriptedBoard() as peer:
        answer = b"%08X" % zlib.crc32(other) + other
        peer.script = {r"PROGram:DEFine\?": b"#2%d" % len(answer) + answer + b"\n"}
        assert main(["plan", "send", "skillet.toml", "--port", peer.url]) == 1
    assert "another plan than the one that was sent" in capsys.readouterr().err


def test_a_plan_damaged_on_the_way_is_told_by_its_checksum(capsys):
    with ScriptedBoard() as peer:
        peer.script = {r"PROGram:DEFine\?": b'#21500000000{"a":1}\n'}
        assert main(["plan", "show", "--board", "--port", peer.url]) == 1
    assert "checksum" in capsys.readouterr().err


def test_a_refusal_of_the_board_is_said_in_its_words(home, capsys):
    main(["plan", "new", "skillet"])
    with ScriptedBoard() as peer:
        peer.script = {"PROGram:DEFine #.*": lambda match: peer.errors.append(b'-284,"Program currently running"\n')}
        assert main(["plan", "send", "skillet.toml", "--port", peer.url]) == 1
    assert "Program currently running (-284)" in capsys.readouterr().err


def test_the_clock_is_set_at_every_connection_and_the_moment_is_kept():
    with ScriptedBoard() as peer:
        assert main(["pull", "--port", peer.url]) == 0
        sent = [message for message in peer.received if message.startswith(("SYSTem:DATE", "SYSTem:TIME"))]
    assert len(sent) == 1
    with Journal() as journal:
        (anchor,) = journal.anchors("E6614103E7")
    assert (anchor.boot, anchor.uptime_ms) == (41, 60_000)


def test_pull_as_json_and_status_when_a_log_cannot_be_read(capsys):
    with ScriptedBoard() as peer:
        peer.files = {"000001.roast": made_roast(), "000002.roast": b"nothing"}
        assert main(["pull", "--port", peer.url, "--json"]) == 1
    report = json.loads(capsys.readouterr().out)
    assert [(file["change"], file["number"]) for file in report["files"]] == [("new", 1), ("unreadable", None)]


def test_pull_says_what_it_did(capsys):
    with ScriptedBoard() as peer:
        peer.files = {"000001.roast": made_roast()}
        assert main(["pull", "--port", peer.url]) == 0
        assert "1 new" in capsys.readouterr().out
        assert main(["pull", "--port", peer.url, "--tidy"]) == 0
    shown = capsys.readouterr()
    assert "1 already in the journal" in shown.out
    assert "deleted from the board: 000001.roast" in shown.out
    assert shown.err == "", "no progress where there is no terminal"


def test_find_lists_boards_and_says_when_there_is_none(capsys, monkeypatch):
    assert main(["find"]) == 1
    assert "panchime virtual" in capsys.readouterr().err
    with ScriptedBoard() as one, ScriptedBoard(identity=b"Panchime,Pico,E66B,0.1.0\n") as other:
        monkeypatch.setenv("PANCHIME_PORT", f"{one.url}, {other.url}")
        assert main(["find"]) == 0
        shown = capsys.readouterr().out
        assert one.url in shown
        assert "E66B" in shown
        assert main(["find", "--json"]) == 0
        found = json.loads(capsys.readouterr().out)
        assert [board["serial"] for board in found] == ["E6614103E7", "E66B"]
        assert main(["find", "--json", "--port", other.url]) == 0


def test_of_two_boards_one_has_to_be_named(capsys, monkeypatch):
    with ScriptedBoard() as one, ScriptedBoard() as other:
        monkeypatch.setenv("PANCHIME_PORT", f"{one.url},{other.url}")
        assert main(["pull"]) == 1
        shown = capsys.readouterr().err
        assert "say which with --port" in shown
        assert one.url in shown
        assert other.url in shown
        assert main(["pull", "--port", one.url]) == 0


def test_the_only_board_of_several_ports_is_found(monkeypatch):
    with ScriptedBoard() as board, ScriptedBoard(identity=b"ACME,Meter,1,2\n") as stranger:
        monkeypatch.setenv("PANCHIME_PORT", f"{stranger.url},{board.url}")
        assert main(["pull"]) == 0


def test_a_running_virtual_board_is_found_by_its_file_and_a_dead_one_is_not(home, capsys):
    folder = home / "home" / "virtual"
    folder.mkdir(parents=True)
    dead = subprocess.Popen([sys.executable, "-c", ""])
    dead.wait()
    with ScriptedBoard() as board:
        (folder / "1.json").write_text(json.dumps({"pid": os.getpid(), "port": board.url}))
        (folder / "2.json").write_text(json.dumps({"pid": dead.pid, "port": "socket://127.0.0.1:1"}))
        (folder / "3.json").write_text("half a fi")
        assert main(["find", "--json"]) == 0
    (found,) = json.loads(capsys.readouterr().out)
    assert (found["port"], found["found_as"]) == (board.url, "virtual")


def test_a_journal_that_cannot_be_written_does_not_stop_talking_to_the_board(home, capsys):
    (home / "home").mkdir()
    (home / "home" / "journal.sqlite").write_bytes(b"this is no database" * 100)
    with ScriptedBoard() as peer:
        peer.plan = json.dumps(PLAN).encode()
        assert main(["plan", "show", "--board", "--port", peer.url]) == 0
    shown = capsys.readouterr()
    assert "Skillet, to City" in shown.out
    assert "this connection is not in the journal" in shown.err


def test_on_a_terminal_the_person_chooses_among_several_boards(monkeypatch, capsys):
    answers = io.StringIO("seven\n3\n2\n")
    monkeypatch.setattr(answers, "isatty", lambda: True)
    monkeypatch.setattr("sys.stdin", answers)
    with ScriptedBoard() as one, ScriptedBoard(identity=b"Panchime,Pico,E66B,0.1.0\n") as other:
        monkeypatch.setenv("PANCHIME_PORT", f"{one.url},{other.url}")
        monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
        assert chosen_port() == other.url
    shown = capsys.readouterr().err
    assert "E66B" in shown
    assert shown.count("Which one (1 to 2)?") == 3


@pytest.mark.parametrize("command", [["show"], ["report"], ["compare", "2"], ["weigh"], ["note"], ["export", "--csv", "x"]])
def test_a_roast_that_is_not_there_names_the_nearest(command, capsys):
    for boot in (1, 2, 3, 4):
        keep(made_roast(boot=boot))
    with Journal() as journal, journal.database.transaction():
        journal.database.rows("DELETE FROM roasts WHERE number = 3")
    assert main([*command, "3"]) == 1
    assert "no roast 3; the nearest are 2 and 4. 'panchime roasts' lists all" in capsys.readouterr().err
    assert main([*command, "99"]) == 1
    assert "the nearest is 4." in capsys.readouterr().err


def test_an_export_says_what_was_written_where(home, capsys):
    keep(made_roast())
    keep(made_roast(boot=41))
    assert main(["export", "1", "--csv", "one.csv"]) == 0
    shown = capsys.readouterr()
    assert shown.out == ""
    rows = len(list(csv.reader((home / "one.csv").open(newline="", encoding="utf-8")))) - 1
    assert shown.err == f"one.csv: roast 1, {rows} rows below the headings\n"
    assert main(["export", "--all", "--json", "all.json"]) == 0
    assert capsys.readouterr().err == "all.json: 2 roasts, 1 to 2\n"
    assert main(["export", "--all", "--parquet", "all.parquet"]) == 0
    assert capsys.readouterr().err == f"all.parquet: 2 roasts, 1 to 2, {2 * len(tell(made_roast()).t_ms)} rows\n"
    assert main(["export", "2", "--raw", "two.roast"]) == 0
    assert capsys.readouterr().err == f"two.roast: the log of roast 2, {len(made_roast(boot=41))} bytes, as the board kept it\n"


def test_data_on_standard_output_stay_data(capsys):
    keep(made_roast())
    assert main(["export", "1", "--json"]) == 0
    shown = capsys.readouterr()
    assert len(json.loads(shown.out)) == 1
    assert shown.err == "standard output: roast 1\n"


def test_a_hint_can_be_pasted_though_the_path_has_spaces(home, capsys):
    assert main(["plan", "new", "wok", "my wok.toml"]) == 0
    hints = [line.strip() for line in capsys.readouterr().out.splitlines() if line.startswith("  panchime ")]
    assert [shlex.split(hint) for hint in hints] == [
        ["panchime", "plan", "check", "my wok.toml"],
        ["panchime", "plan", "send", "my wok.toml"],
    ]
    assert main(["plan", "check", "not there.toml"]) == 1
    assert shlex.split(capsys.readouterr().err.splitlines()[1])[-1] == "not there.toml"
    keep(made_roast())
    assert main(["plan", "from-roast", "1", "as roast 1.toml"]) == 0
    assert shlex.split(capsys.readouterr().out.splitlines()[1])[3] == "as roast 1.toml"


def test_a_hint_on_windows_has_double_quotes(monkeypatch):
    from panchime.terminal import command_line

    class Windows:
        name = "nt"

    monkeypatch.setattr(command_line, "os", Windows)
    assert command_line.command_line(["plan", "check", "my wok.toml"]) == 'panchime plan check "my wok.toml"'
