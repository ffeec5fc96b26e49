"""Runs that made no coffee: told as what they are, not resting, and not counted among beans and costs."""

import json
import sys
from pathlib import Path

import pytest

from panchime.cli.main import main
from panchime.cli.prove_cutoff import proof_plan
from panchime.journal.journal import Journal
from panchime.journal.story import tell
from panchime.journal.summary import summarise
from panchime.records.kinds import CUT_OFF, NO_BEANS, PROOF, STILL_RUNNING, TOO_SHORT
from panchime.records.records import Records
from panchime_fw import events, trips

sys.path.insert(0, str(Path(__file__).parent))
from made_roast import made_roast, usual_events

UTC = "2026-11-10T12:00:00Z"
TRIP = (660_000, events.TRIP, trips.OVER_LIMIT, 24_510, 24_500)
RUNS = {
    PROOF: {"happenings": [(20_000, *TRIP[1:])], "until_ms": 40_000, "plan": proof_plan("F")},
    NO_BEANS: {"happenings": [], "until_ms": 60_000, "end": events.STOPPED_BY_PRESS},
    TOO_SHORT: {"happenings": usual_events()[:2], "until_ms": 150_000, "end": events.STOPPED_BY_PRESS},
    CUT_OFF: {"happenings": [*usual_events()[:6], TRIP]},
    STILL_RUNNING: {"happenings": usual_events()[:6], "until_ms": 610_000, "end": None},
}


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    """A journal with one roast (1) and one of each of these runs (2 to 6)."""
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("COLUMNS", "120")
    with Journal() as journal:
        for place, (kind, changes) in enumerate({"coffee": {}, **RUNS}.items()):
            raw = made_roast(utc=UTC, uptime_ms=1_000_000 * (place + 1), **changes)
            journal.keep(f"{place:06}.roast", raw, summarise(tell(raw), running=kind == STILL_RUNNING))


def shown(capsys, *arguments):
    assert main(list(arguments)) == 0
    return capsys.readouterr().out


def test_each_is_told_as_what_it_is(capsys):
    kinds = {roast["number"]: roast["kind"] for roast in json.loads(shown(capsys, "roasts", "--json"))}
    assert kinds == {1: "coffee"} | dict(enumerate(RUNS, start=2))
    table = shown(capsys, "roasts")
    for words in (PROOF, NO_BEANS, "stopped before", "tripped", "running"):
        assert words in table
    assert f"tripped: {PROOF}" in shown(capsys, "show", "2")
    assert json.loads(shown(capsys, "show", "3", "--json"))["kind"] == NO_BEANS


def test_only_coffee_rests(capsys):
    # On whatever day this runs: the days are no matter of the kind.
    everything = json.loads(shown(capsys, "ready", "--all", "--json"))
    assert [roast["number"] for roast in everything if roast["state"] != "no coffee"] == [1]
    assert {roast["number"] for roast in json.loads(shown(capsys, "ready", "--json"))} <= {1}
    assert f"no coffee: {PROOF}" in shown(capsys, "ready", "--all")
    shown(capsys, "ready", "--all", "--ics", "-")


def test_what_was_weighed_after_the_roast_is_coffee_whatever_the_log_says(capsys):
    shown(capsys, "weigh", "5", "--roasted", "80")
    (cut_off,) = [roast for roast in json.loads(shown(capsys, "roasts", "--json")) if roast["number"] == 5]
    assert cut_off["kind"] == "coffee"
    ready = json.loads(shown(capsys, "ready", "--json"))
    assert 5 in [roast["number"] for roast in ready]


def test_a_run_without_beans_takes_no_weight_and_says_the_way_out(capsys):
    assert main(["weigh", "2", "--green", "90"]) == 1
    assert "a proof of the cutoff, no roast" in capsys.readouterr().err
    assert main(["weigh", "3", "--green", "90"]) == 1
    assert "panchime note 3 --mark" in capsys.readouterr().err
    shown(capsys, "note", "3", "--mark", "beans in", "@0:20")
    assert "90 g" in shown(capsys, "weigh", "3", "--green", "90")


def test_a_run_without_beans_that_was_weighed_before_counts_neither_in_stock_nor_in_cost(capsys):
    shown(capsys, "beans", "add", "Sunrise", "--weight", "1000", "--price", "20 EUR")
    for number in ("1", "4"):
        shown(capsys, "weigh", number, "--green", "90", "--lot", "Sunrise")
    with Journal() as journal:
        records = Records(journal)
        lot = records.lots.named("Sunrise")
        records.roasts.say(2, green_mg=90_000, lot=lot)
        records.roasts.say(3, green_mg=90_000, lot=lot)
        stock = records.lots.stock(lot)
    # What burnt or was stopped early is gone all the same.
    assert (stock.used_mg, stock.roasts) == (180_000, 2)
    assert [roast["number"] for roast in json.loads(shown(capsys, "cost", "--json"))["roasts"]] == [1, 4]
