"""Resting, calendar and costs: what follows from weights, days and prices."""

import json
import sys
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
import vobject

from panchime.cli.main import main
from panchime.errors import PanchimeError
from panchime.journal.journal import Journal
from panchime.journal.story import tell
from panchime.journal.summary import summarise
from panchime.records.calendar import calendar_bytes
from panchime.records.cost import COMMON_SAVING, Household, roast_cost, saving_words
from panchime.records.lots import GreenLot
from panchime.records.moments import said_when
from panchime.records.money import energy_price_of, money_of, price_of
from panchime.records.readiness import local_day, readiness, set_window
from panchime.records.records import Records
from panchime.records.roast_record import RoastRecord
from panchime_fw import events

sys.path.insert(0, str(Path(__file__).parent))
from made_roast import made_roast, usual_events

ROASTED = datetime(2026, 11, 10, 12, 0, tzinfo=UTC)


@pytest.fixture
def journal(tmp_path, monkeypatch):
    """A journal with a dated roast (1) and an undated one of another board (2)."""
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.chdir(tmp_path)
    with Journal() as journal:
        for number, utc in ((1, ROASTED.isoformat()), (2, None)):
            raw = made_roast(utc=utc, board=f"E661410{number}")
            journal.keep(f"{number:06}.roast", raw, summarise(tell(raw), running=False))
        yield journal


def state(journal, days, number=1):
    """The state of a roast so many days after the tenth of November 2026."""
    records = Records(journal)
    today = ROASTED.astimezone().date() + timedelta(days=days)
    return readiness(journal.entry(number), records.of(number), records.settings, today)


# Whole beans peak between 7 and 14 days (common practice, no source).
@pytest.mark.parametrize(
    ("days", "words"),
    [(0, "resting"), (6, "resting"), (7, "at its best"), (14, "at its best"), (15, "past its best")],
)
def test_a_roast_rests_is_at_its_best_and_past_it(journal, days, words):
    assert state(journal, days).state == words
    assert state(journal, days).days == (days, days)


def test_windows_by_lot_stand_before_degree_before_the_usual(journal):
    records = Records(journal)
    lot = records.lots.add(GreenLot(0, "Sunrise"))
    records.roasts.say(1, lot=lot, degree="City")
    set_window(records.settings, "all", "", (1, 2))
    assert state(journal, 3).state == "past its best"
    set_window(records.settings, "degree", "city", (3, 4))
    assert state(journal, 3).state == "at its best"
    set_window(records.settings, "lot", "SUNRISE", (5, 21))
    assert state(journal, 3).state == "resting"
    assert state(journal, 21).state == "at its best"
    set_window(records.settings, "lot", "Sunrise", None)
    set_window(records.settings, "degree", "City", None)
    set_window(records.settings, "all", "", None)
    assert state(journal, 7).state == "at its best"
    for days in ((3, 2), (-1, 2), (0, 366)):
        with pytest.raises(PanchimeError, match="no window"):
            set_window(records.settings, "all", "", days)


def test_a_day_that_is_only_bounded_says_both_states(journal):
    assert state(journal, 5, number=2).state == "not known"
    records = Records(journal)
    said = said_when("2026-11-10", ROASTED + timedelta(days=1))
    records.roasts.say(2, said_when=said)
    assert state(journal, 7, number=2).state == "at its best"
    with journal.database.transaction():
        # As if pulls had only bounded it: between two and nine days ago.
        journal.database.rows(
            "UPDATE roasts SET when_kind = 'bounded', when_from_utc_ms = ?, when_to_utc_ms = ? WHERE number = 2",
            (said.from_utc_ms, said.from_utc_ms + 7 * 86_400_000),
        )
    records.roasts.forget(2, ("said_when",))
    assert state(journal, 9, number=2).state == "resting or at its best"
    assert state(journal, 9, number=2).days == (2, 9)


def test_what_is_left_is_counted_down_and_no_further(journal, capsys):
    assert main(["ready", "--used", "1", "30"]) == 1
    assert "was not weighed" in capsys.readouterr().err
    main(["weigh", "1", "--roasted", "76.5"])
    assert main(["ready", "--used", "1", "30", "--all"]) == 0
    assert "46.5 g" in capsys.readouterr().out
    assert main(["ready", "--used", "1", "50"]) == 1
    assert "only 46.5 g" in capsys.readouterr().err
    assert main(["ready", "--used", "1", "all", "--json"]) == 0
    assert [roast["number"] for roast in json.loads(capsys.readouterr().out)] == [2]
    assert main(["ready", "--used", "1", "1"]) == 1


def ready_list(journal):
    records = Records(journal)
    today = ROASTED.date() + timedelta(days=3)
    return [readiness(entry, records.of(entry.number), records.settings, today) for entry in journal.entries()]


def test_the_calendar_keeps_the_rules_of_rfc_5545(journal):
    records = Records(journal)
    name = "Ünder the höhe; a, very\\long name of a lot é" * 2
    records.roasts.say(1, lot=records.lots.add(GreenLot(0, name[:80])), degree="City\x1b[31m")
    raw = calendar_bytes(ready_list(journal), datetime(2026, 11, 13, 8, 0, tzinfo=UTC))
    # 3.1: lines end with CRLF and have at most 75 octets without it.
    assert raw.endswith(b"\r\n")
    assert raw.count(b"\n") == raw.count(b"\r\n") == raw.count(b"\r")
    assert max(len(line) for line in raw.split(b"\r\n")) <= 75
    lines = raw.replace(b"\r\n ", b"").decode("utf-8").split("\r\n")
    assert "\x1b" not in raw.decode("utf-8")
    # 3.6: VERSION and PRODID once; 3.6.1: DTSTAMP and UID once in each event.
    for name in ("VERSION:2.0", "PRODID:"):
        assert sum(line.startswith(name) for line in lines) == 1
    for name in ("BEGIN:VEVENT", "UID:", "DTSTAMP:20261113T080000Z", "DTSTART;VALUE=DATE:", "DTEND;VALUE=DATE:"):
        assert sum(line.startswith(name) for line in lines) == 1, "the undated roast has no entry"


def test_another_reader_finds_the_days_in_the_calendar(journal):
    records = Records(journal)
    records.roasts.say(1, lot=records.lots.add(GreenLot(0, "Sunrise; Hill, upper")))
    raw = calendar_bytes(ready_list(journal))
    event = vobject.readOne(raw.decode("utf-8")).vevent
    assert event.dtstart.value == date(2026, 11, 17)
    assert event.dtend.value == date(2026, 11, 25), "the fourteenth day is the last, and the end is not part of it"
    assert event.summary.value == "Roast 1 Sunrise; Hill, upper: at its best"
    again = vobject.readOne(calendar_bytes(ready_list(journal)).decode("utf-8")).vevent
    assert again.uid.value == event.uid.value


def test_the_calendar_is_a_file_that_is_not_written_over(journal, tmp_path, capsys):
    assert main(["ready", "--all", "--ics", "days.ics"]) == 0
    assert "1 entry" in capsys.readouterr().out
    assert main(["ready", "--all", "--ics", "days.ics"]) == 1
    assert vobject.readOne((tmp_path / "days.ics").read_bytes().decode()).version.value == "2.0"


def test_the_day_of_a_moment_is_the_local_one():
    assert local_day(int(ROASTED.timestamp() * 1000)) == ROASTED.astimezone().date()


LOT = GreenLot(1, "x", price="20 EUR/kg")
RECORD = RoastRecord(1, lot=LOT, green_mg=100_000, roasted_mg=80_000)
HEATED = tell(made_roast([*usual_events(), (900, events.RELAY, 1, 0, 0), (600_900, events.RELAY, 0, 0, 0)]))


def test_a_roast_costs_its_green_beans_their_loss_and_its_heat():
    house = Household(
        energy=energy_price_of("0.30 EUR/kWh"), watts=1200, cup_mg=16_000, shop=price_of("8 EUR/250 g")
    )
    cost = roast_cost(RECORD, HEATED, house)
    assert cost.green.amount == 2
    # Ten minutes of 1200 W are 0.2 kWh.
    assert cost.heat.amount == Decimal("0.06")
    # 2.06 EUR for 80 g: 2.575 EUR for 100 g, 0.412 EUR for 16 g.
    assert cost.per_100_g.amount == pytest.approx(Decimal("2.575"))
    assert cost.per_cup.amount == pytest.approx(Decimal("0.412"))
    # The shop takes 3.20 EUR for 100 g.
    assert cost.saving == pytest.approx(1 - 2.575 / 3.2)
    assert cost.missing == ()


def test_what_was_said_of_a_roasts_fuel_stands_before_the_relay_and_the_usual():
    house = Household(energy=energy_price_of("0.30 EUR/kWh"), watts=1200, fuel=money_of("0.10 EUR"))
    said = RoastRecord(1, lot=LOT, green_mg=100_000, roasted_mg=80_000, fuel_price="0.25 EUR")
    assert roast_cost(said, HEATED, house).heat.amount == Decimal("0.25")
    assert roast_cost(RECORD, HEATED, house).heat.amount == Decimal("0.06")
    assert roast_cost(RECORD, tell(made_roast()), house).heat.amount == Decimal("0.10")


def test_a_price_for_the_whole_lot_needs_its_weight():
    whole = GreenLot(1, "x", price="10 EUR", bought_mg=500_000)
    assert roast_cost(RoastRecord(1, lot=whole, green_mg=100_000, roasted_mg=80_000), HEATED, Household()).green.amount == 2
    unknown = RoastRecord(1, lot=GreenLot(1, "x", price="10 EUR"), green_mg=100_000, roasted_mg=80_000)
    assert "how much of the lot was bought" in roast_cost(unknown, HEATED, Household()).missing


def test_what_is_not_known_is_named_and_currencies_are_not_mixed():
    assert roast_cost(RoastRecord(1), HEATED, Household()).missing == ("the lot", "the heat", "the roasted weight")
    mixed = roast_cost(RECORD, HEATED, Household(fuel=money_of("$1"), shop=price_of("$9/lb")))
    assert mixed.heat is None
    assert mixed.saving is None
    assert mixed.per_100_g.words() == "2.50 EUR"
    assert len(mixed.missing) == 2


# Home roasting commonly saves a quarter to a half (common practice, no source).
@pytest.mark.parametrize(
    ("part", "words"),
    [(-0.1, "10 % dearer"), (0.1, "less than the quarter"), (0.4, "commonly saves"), (0.7, "more than the half")],
)
def test_where_one_stands(part, words):
    assert COMMON_SAVING == (0.25, 0.5)
    assert words in saving_words(part)


def test_prices_are_kept_and_forgotten(journal, capsys):
    main(["beans", "add", "Sunrise", "--price", "20 EUR/kg"])
    main(["weigh", "1", "--green", "100", "--roasted", "80", "--lot", "Sunrise"])
    assert main(["cost", "--fuel", "0.10 EUR", "--shop", "8 EUR/250 g", "--cup", "16"]) == 0
    assert "18 % cheaper" in capsys.readouterr().out
    main(["cost", "1", "--fuel", "0.50 EUR", "--json"])
    (cost,) = json.loads(capsys.readouterr().out)["roasts"]
    assert cost["heat"] == {"amount": "0.5", "currency": "EUR"}
    main(["cost", "--shop", "", "--json"])
    assert json.loads(capsys.readouterr().out)["household"]["shop_per_100_g"] is None
    assert main(["cost", "--shop", "8 EUR"]) == 1
    assert main(["cost", "--watts", "0"]) == 1
