"""The link fuzz in its short form, and that it would see what it looks for."""

import sys
from pathlib import Path

import pytest

sys.path[:0] = [str(Path(__file__).parent / "link_fuzz"), str(Path(__file__).parent / "faults")]

import bench_flash  # noqa: E402  # after the paths
import fuzz_run  # noqa: E402

from panchime_fw import trips  # noqa: E402

MESSAGES = 20_000


def test_short_campaign():
    result = fuzz_run.campaign(MESSAGES, 7, 1)
    assert result["findings"] == {}
    counts = result["counts"]
    assert counts["messages"] == MESSAGES
    # The board must have been where it matters, or nothing was shown.
    assert counts["with the relay closed"] > MESSAGES // 2
    assert counts["while tripped"] > MESSAGES // 100
    assert counts["messages of a known error"] > 500
    assert len(result["errors_told"]) > 15, result["errors_told"]


@pytest.fixture
def fuzz():
    with bench_flash.installed():
        yield fuzz_run.Fuzz(1)


def test_a_command_that_closes_the_relay_is_found(fuzz, monkeypatch):
    fuzz.keep_roasting(idle_share=0)
    fuzz.send(b"OUTP OFF\n")
    assert not fuzz.board.relay_closed
    monkeypatch.setattr(fuzz.bench.instrument, "silence", lambda: fuzz.session.relay_on(fuzz.board.ticks_ms()))
    fuzz.one(b"*RST\n")
    assert set(fuzz.findings) == {"the relay closed"}


def test_a_command_that_clears_a_trip_is_found(fuzz, monkeypatch):
    fuzz.keep_roasting(idle_share=0)
    fuzz.session.cutoff.trip(trips.SENSOR_FAULT, 0, fuzz.board.ticks_ms())
    fuzz._settle(600)
    monkeypatch.setattr(fuzz.bench.instrument, "silence", lambda: fuzz.session.clear_trip(fuzz.board.ticks_ms()))
    fuzz.one(b"*RST\n")
    assert "the trip was cleared" in fuzz.findings


def test_a_command_that_ends_the_loop_is_found(fuzz, monkeypatch):
    def broken():
        raise SystemExit

    monkeypatch.setattr(fuzz.bench.instrument, "silence", broken)
    with pytest.raises(SystemExit):
        fuzz.one(b"*RST\n")
    assert not fuzz.board.relay_closed
