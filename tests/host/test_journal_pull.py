"""Pulling: only what is new or has grown, nothing shrinks, nothing is lost, nothing is kept twice."""

import sys
from pathlib import Path

import pytest

from panchime.errors import LinkError, PanchimeError
from panchime.journal import pulling
from panchime.journal.journal import Journal
from panchime.journal.pulling import GROWN, NEW, SAME, UNREADABLE, pull
from panchime.journal.schema import MIGRATIONS
from panchime.journal.story import tell
from panchime.journal.summary import summarise
from panchime.journal.when import error_ms
from panchime.link.anchor import Anchor
from panchime.link.board import Board
from panchime.link.scpi_client import Identity
from panchime_fw import logreader

sys.path.insert(0, str(Path(__file__).parent))
from made_roast import made_roast
from scripted_board import ScriptedBoard, block

IDENTITY = Identity("Raspberry Pi Pico", "E6614103E7", "0.1.0")
DAY = 86_400_000
NOON = 1_795_000_000_000


@pytest.fixture
def journal(tmp_path):
    with Journal(tmp_path / "journal.sqlite") as journal:
        yield journal


@pytest.fixture
def peer():
    with ScriptedBoard() as peer:
        yield peer


def pulled(peer, journal, **options):
    with Board.connect(peer.url) as board:
        return pull(board, journal, **options)


def changes(report):
    return [(pulled.file.name, pulled.change, pulled.number) for pulled in report.files]


def data_requests(peer):
    return [message for message in peer.received if message.startswith("MMEMory:DATA")]


def test_new_logs_are_kept_byte_for_byte(peer, journal):
    peer.files = {"000001.roast": made_roast(uptime_ms=1000), "000002.roast": made_roast(uptime_ms=2_000_000)}
    report = pulled(peer, journal)
    assert changes(report) == [("000001.roast", NEW, 1), ("000002.roast", NEW, 2)]
    assert journal.raw(1) == peer.files["000001.roast"]
    assert journal.raw(2) == peer.files["000002.roast"]
    assert peer.files, "nothing is deleted unasked"


def test_pulled_twice_is_one_roast_and_only_tails_are_asked_for(peer, journal):
    peer.files = {"000001.roast": made_roast()}
    pulled(peer, journal)
    peer.received.clear()
    assert changes(pulled(peer, journal)) == [("000001.roast", SAME, 1)]
    assert len(data_requests(peer)) == 1
    assert data_requests(peer)[0].endswith(",64")
    assert len(journal.entries()) == 1


def test_everything_again_is_still_one_roast(peer, journal):
    peer.files = {"000001.roast": made_roast()}
    pulled(peer, journal)
    assert changes(pulled(peer, journal, everything=True)) == [("000001.roast", SAME, 1)]
    assert len(journal.entries()) == 1


def test_a_roast_that_grew_is_fetched_from_where_it_ended(peer, journal):
    whole = made_roast()
    begun = whole[: logreader.decode(whole).chunks[-40]]
    peer.files = {"000001.roast": begun}
    pulled(peer, journal)
    assert journal.entry(1).state == "interrupted"
    peer.files = {"000001.roast": whole}
    peer.received.clear()
    assert changes(pulled(peer, journal)) == [("000001.roast", GROWN, 1)]
    assert data_requests(peer)[1].startswith(f'MMEMory:DATA? "000001.roast",{len(begun)},')
    assert journal.raw(1) == whole
    assert journal.entry(1).state == "complete"


def test_a_kept_roast_never_shrinks(peer, journal):
    peer.files = {"000001.roast": made_roast()}
    pulled(peer, journal)
    peer.files = {"000001.roast": made_roast(end=None, until_ms=200_000)}
    assert changes(pulled(peer, journal)) == [("000001.roast", SAME, 1)]
    assert journal.raw(1) == made_roast()


def test_a_wiped_board_that_counts_its_files_from_one_again_makes_new_roasts(peer, journal):
    peer.files = {"000001.roast": made_roast(boot=3, uptime_ms=1000)}
    pulled(peer, journal)
    peer.files = {"000001.roast": made_roast(boot=1, uptime_ms=7000)}
    assert changes(pulled(peer, journal)) == [("000001.roast", NEW, 2)]
    assert journal.raw(1) == made_roast(boot=3, uptime_ms=1000)


def test_another_roast_of_the_same_boot_and_millisecond_takes_nothing_away(peer, journal):
    peer.files = {"000001.roast": made_roast(until_ms=60_000)}
    pulled(peer, journal)
    other = made_roast(plan={"name": "Another", "method": "wok"})
    peer.files = {"000001.roast": other}
    (found,) = pulled(peer, journal, tidy=True).files
    assert (found.change, found.number) == (UNREADABLE, None)
    assert "two boards have one serial number" in found.problems[0]
    assert journal.raw(1) == made_roast(until_ms=60_000)
    assert peer.files == {"000001.roast": other}, "deleted although it is nowhere else"


def test_an_exact_start_stays_when_the_roast_grows_and_the_clock_was_wrong_meanwhile(peer, journal):
    peer.files = {"000001.roast": made_roast(end=None, until_ms=300_000, uptime_ms=100_000)}
    journal.meet(IDENTITY, Anchor(40, 500_000, NOON))
    pulled(peer, journal)
    journal.meet(IDENTITY, Anchor(40, 2_000_000, NOON - 900 * DAY))
    peer.files = {"000001.roast": made_roast(uptime_ms=100_000)}
    assert changes(pulled(peer, journal)) == [("000001.roast", GROWN, 1)]
    assert journal.entry(1).when.from_utc_ms == NOON - 400_000


def test_a_running_roast_is_called_running_and_later_interrupted(peer, journal):
    peer.files = {"000007.roast": made_roast(end=None, until_ms=300_000)}
    peer.running = True
    peer.script = {r"ROASt:LIVE\?": b"60000,roasting,300000,180.00,25.00,9.00,0,0,0,5,7\n"}
    pulled(peer, journal)
    assert journal.entry(1).state == "running"
    peer.running = False
    pulled(peer, journal)
    assert journal.entry(1).state == "interrupted"


def test_a_broken_piece_is_asked_for_again_from_where_it_broke(peer, journal, monkeypatch):
    monkeypatch.setattr(pulling, "PIECE_BYTES", 2000)
    raw = made_roast()
    peer.files = {"000001.roast": raw}
    peer.script = {
        r'MMEMory:DATA\? "000001.roast",2000,\d+': [b"#3900 too short\n", b"noise\n", block(raw[2000:4000])],
    }
    assert changes(pulled(peer, journal)) == [("000001.roast", NEW, 1)]
    assert journal.raw(1) == raw
    assert [message.split(",")[1] for message in data_requests(peer)].count("2000") == 3


def test_a_line_that_stays_broken_is_an_error_and_what_was_kept_stays(peer, journal):
    peer.files = {"000001.roast": made_roast(uptime_ms=1), "000002.roast": made_roast(uptime_ms=2)}
    peer.script = {r'MMEMory:DATA\? "000002.roast".*': b"noise\n"}
    with pytest.raises(LinkError):
        pulled(peer, journal)
    assert [entry.file_name for entry in journal.entries()] == ["000001.roast"]


def damaged(raw):
    """The same log with one bit turned over in its last sample chunk."""
    bytes_of = bytearray(raw)
    bytes_of[logreader.decode(raw).chunks[-1] + 4] ^= 1
    return bytes(bytes_of)


def test_damage_on_the_way_is_gone_the_second_time(peer, journal):
    raw = made_roast(until_ms=60_000)
    peer.files = {"000001.roast": raw}
    peer.script = {r"MMEMory:DATA\? .*": [block(damaged(raw)), block(raw)]}
    assert pulled(peer, journal).files[0].problems == ()
    assert journal.raw(1) == raw


def test_a_head_damaged_on_the_way_is_fetched_again(peer, journal):
    raw = made_roast(until_ms=60_000)
    peer.files = {"000001.roast": raw}
    peer.script = {r"MMEMory:DATA\? .*": [block(b"\xff" * len(raw)), block(raw)]}
    assert changes(pulled(peer, journal)) == [("000001.roast", NEW, 1)]
    assert journal.raw(1) == raw


def test_a_log_that_never_comes_as_it_is_on_the_board_is_not_kept(peer, journal):
    raw = made_roast(until_ms=60_000)
    peer.files = {"000001.roast": raw}
    peer.script = {r"MMEMory:DATA\? .*": block(damaged(raw))}
    with pytest.raises(LinkError, match="another checksum than it has on the board"):
        pulled(peer, journal)
    assert journal.entries() == []


@pytest.mark.parametrize("field", ["name", "length"])
def test_a_catalogue_that_was_garbled_once_loses_no_roast(peer, journal, field):
    peer.files = {"000001.roast": made_roast(), "000002.roast": made_roast(uptime_ms=2_000_000)}
    good = peer._catalogue()
    bad = good.replace(b"000002", b"000001") if field == "name" else good.replace(b"BIN,5", b"BIN,1", 1)
    assert bad != good
    peer.script = {r"MMEMory:CATalog\?": [bad, good]}
    pulled(peer, journal)
    assert [journal.raw(number) for number in (1, 2)] == list(peer.files.values())


def test_what_is_kept_whole_is_confirmed_to_the_board(peer, journal):
    peer.files = {
        "000001.roast": made_roast(uptime_ms=1),
        "000002.roast": made_roast(uptime_ms=2, end=None),
        "000003.roast": made_roast(uptime_ms=3),
    }
    report = pulled(peer, journal)
    assert peer.confirmed == report.confirmed == list(peer.files)
    peer.received.clear()
    assert pulled(peer, journal).confirmed == list(peer.files)
    assert not [message for message in peer.received if message.startswith("MMEMory:CONFirm ")], "confirmed twice"


def test_a_log_that_still_grows_is_not_confirmed(peer, journal):
    peer.files = {"000001.roast": made_roast(uptime_ms=1, end=None), "000002.roast": made_roast(uptime_ms=2, end=None)}
    peer.running = True
    peer.script = {r"ROASt:LIVE\?": b"60000,roasting,300000,180.00,25.00,9.00,0,0,0,5,2\n"}
    report = pulled(peer, journal)
    assert peer.confirmed == report.confirmed == ["000001.roast"]
    assert report.unconfirmed == []


def test_a_board_that_cannot_keep_the_mark_is_told_and_loses_nothing(peer, journal):
    peer.files = {"000001.roast": made_roast()}

    def full(match):
        peer.errors.append(b'-250,"Mass storage error; the flash does not take the mark"\n')

    peer.script = {r"MMEMory:CONFirm .*": full}
    report = pulled(peer, journal)
    assert report.confirmed == []
    assert "does not take the mark" in report.unconfirmed[0][1]
    assert journal.raw(1) == made_roast()


def test_damage_on_the_flash_is_kept_and_said(peer, journal):
    raw = damaged(made_roast(until_ms=60_000))
    peer.files = {"000001.roast": raw}
    assert "damaged" in " ".join(pulled(peer, journal).files[0].problems)
    assert journal.raw(1) == raw
    assert journal.entry(1).problems


def test_a_log_without_a_head_stays_on_the_board(peer, journal):
    peer.files = {"000001.roast": b"\xff" * 300, "000002.roast": made_roast()}
    report = pulled(peer, journal, tidy=True)
    assert changes(report) == [("000001.roast", UNREADABLE, None), ("000002.roast", NEW, 1)]
    assert report.deleted == ["000002.roast"]
    assert list(peer.files) == ["000001.roast"]


def test_tidy_leaves_the_running_roast_and_what_is_not_kept_whole(peer, journal):
    peer.files = {
        "000005.roast": made_roast(uptime_ms=5),
        "000006.roast": made_roast(uptime_ms=6, end=None),
        "000007.roast": made_roast(uptime_ms=7, end=None),
    }
    peer.running = True
    peer.script = {r"ROASt:LIVE\?": b"60000,roasting,300000,180.00,25.00,9.00,0,0,0,5,7\n"}
    pulled(peer, journal)
    # The journal has more of roast 6 than the board: the board's file is not what the journal keeps.
    journal_has = made_roast(uptime_ms=6)
    journal.keep("000006.roast", journal_has, summarise(tell(journal_has), running=False))
    report = pulled(peer, journal, tidy=True)
    assert report.deleted == ["000005.roast"]
    assert sorted(peer.files) == ["000006.roast", "000007.roast"]


def test_connections_bound_and_then_fix_the_time_of_a_roast(peer, journal):
    journal.meet(IDENTITY, Anchor(38, 5000, NOON))
    peer.files = {"000001.roast": made_roast(boot=40, uptime_ms=100_000)}
    pulled(peer, journal)
    assert journal.entry(1).when.kind == "bounded"
    assert journal.entry(1).when.from_utc_ms == NOON + 100_000 - error_ms(100_000)
    journal.meet(IDENTITY, Anchor(41, 60_000, NOON + DAY))
    assert journal.entry(1).when.to_utc_ms == NOON + DAY - 60_000 - 900_000 + error_ms(960_000)


def test_an_anchor_of_the_same_boot_makes_the_roast_exact(peer, journal):
    peer.files = {"000001.roast": made_roast(boot=40, uptime_ms=100_000)}
    journal.meet(IDENTITY, Anchor(40, 1_300_000, NOON))
    pulled(peer, journal)
    when = journal.entry(1).when
    assert (when.kind, when.from_utc_ms) == ("exact", NOON - 1_200_000)


def test_anchors_of_the_time_before_a_wipe_date_nothing_after_it(peer, journal):
    journal.meet(IDENTITY, Anchor(2, 900_000, NOON))
    journal.meet(IDENTITY, Anchor(50, 900_000, NOON + 30 * DAY))
    journal.meet(IDENTITY, Anchor(3, 10_000, NOON + 60 * DAY))  # the boots count from the start again
    peer.files = {"000001.roast": made_roast(boot=2, uptime_ms=100_000)}
    pulled(peer, journal)
    when = journal.entry(1).when
    assert (when.kind, when.from_utc_ms) == ("bounded", None)
    assert when.to_utc_ms == NOON + 60 * DAY - 10_000 - 900_000 + error_ms(910_000)


def test_a_failure_in_the_middle_of_keeping_leaves_nothing(tmp_path, monkeypatch):
    raw = made_roast()
    with Journal(tmp_path / "journal.sqlite") as journal:
        monkeypatch.setattr(journal, "_place_in_time", lambda *_: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            journal.keep("000001.roast", raw, summarise(tell(raw), running=False))
        assert journal.entries() == []


def test_the_journal_of_a_newer_panchime_is_not_touched(tmp_path):
    import sqlite3

    file = tmp_path / "journal.sqlite"
    Journal(file).close()
    with sqlite3.connect(file) as connection:
        connection.execute("INSERT INTO migrations VALUES (?, 0)", (len(MIGRATIONS) + 1,))
    connection.close()
    with pytest.raises(PanchimeError, match="newer Panchime"):
        Journal(file)


def test_a_file_that_is_no_journal_is_an_error_with_a_way_out(tmp_path):
    file = tmp_path / "journal.sqlite"
    file.write_bytes(b"this is no database, and it is long enough to be looked at" * 20)
    with pytest.raises(PanchimeError, match="PANCHIME_HOME"):
        Journal(file)
    assert file.read_bytes().startswith(b"this is no database")


def test_the_journal_works_like_a_journal_in_every_connection(tmp_path):
    file = tmp_path / "journal.sqlite"
    with Journal(file) as one, Journal(file) as other:
        one.remember_plan("abc", "name = 'x'  # mine")
        assert other.plan_text("abc") == "name = 'x'  # mine"
        assert other._database.rows("PRAGMA journal_mode")[0][0] == "wal"
        assert other._database.rows("PRAGMA foreign_keys")[0][0] == 1
