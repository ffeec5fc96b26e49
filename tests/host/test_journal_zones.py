"""Times in the listing: daylight saving, another time zone, many boards in one journal."""

import json
import os
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from panchime.cli.main import main
from panchime.journal.journal import Journal
from panchime.journal.story import tell
from panchime.journal.summary import summarise
from panchime.link.anchor import Anchor
from panchime.link.scpi_client import Identity

sys.path.insert(0, str(Path(__file__).parent))
from made_roast import made_roast

SHORT = {"until_ms": 20_000}
# Central European time as POSIX writes it: summer from the last Sunday of March to the last of October.
VIENNA = "CET-1CEST,M3.5.0,M10.5.0/3"
SYDNEY = "AEST-10AEDT,M10.1.0,M4.1.0/3"

pytestmark = pytest.mark.skipif(not hasattr(time, "tzset"), reason="the time zone of a running program cannot be set here")


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path))
    monkeypatch.setenv("COLUMNS", "140")
    kept = os.environ.get("TZ")
    yield tmp_path
    if kept is None:
        os.environ.pop("TZ", None)
    else:
        os.environ["TZ"] = kept
    time.tzset()


def live_in(zone):
    os.environ["TZ"] = zone
    time.tzset()


def keep(*moments):
    with Journal() as journal:
        for number, moment in enumerate(moments, start=1):
            raw = made_roast(boot=number, utc=moment, **SHORT)
            journal.keep(f"{number:06d}.roast", raw, summarise(tell(raw), running=False))


def listed(capsys):
    assert main(["roasts"]) == 0
    return capsys.readouterr().out


def moments(capsys):
    assert main(["roasts", "--json"]) == 0
    return [entry["when"]["from_utc"] for entry in json.loads(capsys.readouterr().out)]


def test_the_two_hours_that_have_one_name_are_told_apart(capsys):
    live_in(VIENNA)
    keep("2026-10-25T00:30:00Z", "2026-10-25T01:30:00Z")
    text = listed(capsys)
    assert "2026-10-25 02:30" in text
    assert "CEST" in text
    assert "CET" in text.replace("CEST", "")
    assert moments(capsys) == ["2026-10-25T00:30:00.000Z", "2026-10-25T01:30:00.000Z"]


def test_the_hour_that_is_not_there_is_not_shown(capsys):
    live_in(VIENNA)
    keep("2026-03-29T00:59:00Z", "2026-03-29T01:00:00Z")
    text = listed(capsys)
    assert "2026-03-29 01:59" in text
    assert "2026-03-29 03:00" in text


def test_another_time_zone_shows_the_same_moments(capsys):
    live_in(VIENNA)
    keep("2026-11-25T22:30:00Z")
    assert "2026-11-25 23:30" in listed(capsys)
    before = moments(capsys)
    live_in(SYDNEY)
    assert "2026-11-26 09:30" in listed(capsys)
    assert moments(capsys) == before


def test_a_change_of_the_clock_between_anchor_and_roast_does_not_shift_it():
    """Anchors are UTC: a board that runs through the night of the change has its roast at the right moment."""
    live_in(VIENNA)
    anchor_utc = datetime(2026, 10, 25, 2, 0, tzinfo=UTC)
    raw = made_roast(boot=7, uptime_ms=60_000, **SHORT)
    with Journal() as journal:
        anchor = Anchor(7, 3 * 3_600_000 + 60_000, round(anchor_utc.timestamp() * 1000))
        journal.meet(Identity("Pico", "E6614103E7", "0.1.0"), anchor)
        number = journal.keep("000001.roast", raw, summarise(tell(raw), running=False))
        when = journal.entry(number).when
    assert when.kind == "exact"
    assert datetime.fromtimestamp(when.from_utc_ms / 1000, UTC) == datetime(2026, 10, 24, 23, 0, tzinfo=UTC)


def test_many_boards_in_one_journal_keep_to_their_own_clocks():
    noon = 1_795_000_000_000
    with Journal() as journal:
        for index in range(5):
            serial = f"E66141000{index}"
            journal.meet(Identity("Pico", serial, "0.1.0"), Anchor(3, 600_000, noon + index * 86_400_000))
        for index in range(5):
            raw = made_roast(board=f"E66141000{index}", boot=3, uptime_ms=100_000, **SHORT)
            for _ in range(2):  # twice is once
                journal.keep("000001.roast", raw, summarise(tell(raw), running=False))
        entries = journal.entries()
    assert [entry.when.from_utc_ms for entry in entries] == [noon - 500_000 + index * 86_400_000 for index in range(5)]
    assert len({entry.board_serial for entry in entries}) == len(entries) == 5
