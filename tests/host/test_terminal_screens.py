"""What is drawn: nothing wider than the terminal, nothing a board could smuggle in, nothing said by colour alone."""

import io
import re
import sys
import unicodedata
from pathlib import Path

import pytest
from rich.console import Console

from panchime.journal.journal import Journal
from panchime.journal.story import tell
from panchime.journal.summary import summarise
from panchime.journal.when import When
from panchime.link.board import Live, LiveEvent, LiveMark
from panchime.link.following import Roast
from panchime.rehearsal.bench import TRIPPED as TRIPPED_KIND
from panchime.rehearsal.bench import Happening
from panchime.rehearsal.rehearsal import Rehearsal
from panchime.terminal import words
from panchime.terminal.big_digits import big
from panchime.terminal.canvas import Canvas
from panchime.terminal.next_milestone import next_milestone
from panchime.terminal.plan_table import plan_screen
from panchime.terminal.rehearsal_table import rehearsal_screen
from panchime.terminal.roast_list import roast_table
from panchime.terminal.roast_screen import View, roast_screen
from panchime.terminal.safe_text import safe_line, safe_lines
from panchime.terminal.scale import Scale, rounded_range
from panchime.terminal.watch_screen import event_line, status_line, watch_screen
from panchime_fw import events, faults, trips

sys.path.insert(0, str(Path(__file__).parent))
from made_roast import PLAN, made_roast, usual_events

NASTY = "\x1b]0;owned\x07\x1b[31m[bold]red[/bold]\u202e\r\n"
TRIPPED = [
    *usual_events()[:6],
    (2000, events.RELAY, 1, 0, 0),
    (660_000, events.TRIP, trips.OVER_LIMIT, 24_510, 24_500),
    (660_000, events.RELAY, 0, 0, 0),
]


def printed(*parts, width=80):
    """What a plain terminal of that width would show."""
    out = Console(file=io.StringIO(), width=width, highlight=False, markup=False, emoji=False, legacy_windows=False)
    for part in parts:
        out.print(part)
    return out.file.getvalue()


def kept(tmp_path, raw, running=False):
    story = tell(raw)
    with Journal(tmp_path / "journal.sqlite") as journal:
        number = journal.keep("000001.roast", raw, summarise(story, running))
        return journal.entry(number), story


def assert_harmless(text):
    unsafe = [c for c in text if unicodedata.category(c) in {"Cc", "Cf"} and c != "\n"]
    assert unsafe == []


@pytest.mark.parametrize("width", [60, 80, 100, 200])
@pytest.mark.parametrize(
    "raw",
    [
        made_roast(),
        made_roast(TRIPPED, faults=[(300_000, 303_000, faults.OPEN)]),
        made_roast([], end=None, until_ms=20_000),
        made_roast([], end=None, until_ms=500),
        made_roast([], end=None, until_ms=0),
        made_roast([], faults=[(0, 900_000, faults.OPEN)]),
    ],
    ids=["whole", "tripped", "short", "two samples", "empty", "never a reading"],
)
def test_a_roast_fits_any_terminal(tmp_path, raw, width):
    entry, story = kept(tmp_path, raw)
    text = printed(*roast_screen(entry, story, View(width, 40, "C")), width=width)
    assert max(map(len, text.splitlines())) <= width
    assert f"Roast {entry.number}" in text


def test_marks_milestones_and_trips_are_letters_in_the_plot_and_words_below(tmp_path):
    entry, story = kept(tmp_path, made_roast(TRIPPED))
    lines = printed(*roast_screen(entry, story, View(100, 40, "C")), width=100).splitlines()
    flags = " ".join(lines[4:8])
    for letter in ("A", "B", "a", "b", "c", "!"):
        assert letter in flags
    text = "\n".join(lines)
    told = "the alarm sounded at 9:30 (no heater on the relay): over the limit, reading 245.1 °C, limit 245.0 °C"
    assert told in " ".join(text.split())
    assert "tripped at" not in text
    assert "Take the beans off the heat." in " ".join(text.split())
    assert "relay  ━" in text
    assert "closed: heater on" in text


def test_flags_of_one_moment_do_not_hide_one_another(tmp_path):
    same = [(100_000 + i, events.MARK, i, events.PRESSED, 100_000) for i in range(5)]
    entry, story = kept(tmp_path, made_roast(same))
    text = printed(*roast_screen(entry, story, View(80, 40, "C")))
    head = text.split("┤")[0]
    assert all(letter in head for letter in "ABCDE")


def test_the_axis_of_time_counts_from_beans_in(tmp_path):
    entry, story = kept(tmp_path, made_roast())
    text = printed(*roast_screen(entry, story, View(100, 40, "C")), width=100)
    ruler, numbers, title = text[text.index("└") :].splitlines()[:3]
    assert title.strip() == "minutes since beans in"
    assert numbers.split() == ["0", "2", "4", "6", "8", "10", "12"]
    # Beans in is 90 s into a log of 900 s.
    assert ruler[1:].index("┴") == pytest.approx((100 - 8) * 0.1, abs=1)


def test_fahrenheit_is_said_and_meant(tmp_path):
    entry, story = kept(tmp_path, made_roast())
    text = printed(*roast_screen(entry, story, View(100, 40, "F")), width=100)
    assert "°C" not in text
    assert words.degrees(20_000, "F") == "392 °F"
    assert words.rate(1000, "F") == "+18.0 °F/min"


def test_a_terminal_without_braille_gets_ascii(tmp_path):
    entry, story = kept(tmp_path, made_roast(TRIPPED))
    text = printed(*roast_screen(entry, story, View(80, 40, "C", ascii_only=True)))
    assert text.replace("°", "").isascii()
    assert "*" in text


def test_what_a_board_supplies_does_nothing_to_the_terminal(tmp_path):
    plan = PLAN | {
        "name": NASTY,
        "method": NASTY,
        "marks": [NASTY, *PLAN["marks"][1:]],
        "milestone": [{"label": NASTY, "sound": NASTY}] * 4,
    }
    entry, story = kept(tmp_path, made_roast(plan=plan, board="E6" + NASTY, firmware=NASTY, model=NASTY))
    text = printed(*roast_screen(entry, story, View(100, 40, "C")), roast_table([entry]), width=100)
    assert_harmless(text)
    assert "[bold]" in text.replace("\n", ""), "markup of rich is shown, not obeyed"


def test_what_a_board_says_live_does_nothing_to_the_terminal():
    live = Live(1000, NASTY, 1000, 20.0, 25.0, None, False, 0, 0, 1, 1)
    roast = Roast(live, True, True, [LiveMark(NASTY, 1, 0)], [LiveEvent(1, 0, NASTY, NASTY)], {"name": NASTY})
    assert_harmless(printed(watch_screen(roast, "C", trouble=NASTY)))
    assert_harmless(status_line(roast, "C") + event_line(roast.happened[0], "C"))


def test_safe_text():
    assert safe_line("Rösti ☕ 日本") == "Rösti ☕ 日本"
    assert safe_line("a\x1b[2Jb\n\u202ec") == "a�[2Jb��c"
    assert safe_lines("a\nb\x07") == "a\nb�"


def test_a_list_says_when_no_more_exactly_than_it_is_known():
    assert words.when(When("unknown")) == "unknown"
    noon = 1_795_000_000_000
    assert words.when(When("exact", noon, noon)) == words.moment(noon)
    assert words.when(When("bounded", None, noon)) == f"before {words.moment(noon)}"
    assert words.when(When("bounded", noon, None)) == f"after {words.moment(noon)}"
    assert words.when(When("bounded", noon, noon + 86_400_000)).startswith("between ")


def test_a_moment_is_local_and_names_its_zone(monkeypatch):
    import time

    monkeypatch.setenv("TZ", "Pacific/Auckland")
    time.tzset()
    try:
        assert words.moment(1_795_000_000_000) == "2026-11-19 00:06 NZDT"
    finally:
        monkeypatch.undo()
        time.tzset()


@pytest.mark.parametrize("width", [80, 100])
def test_the_list_fits_and_brackets_what_was_not_marked(tmp_path, width):
    first, _ = kept(tmp_path, made_roast())
    second, _ = kept(tmp_path, made_roast(TRIPPED, uptime_ms=9, board="E661000000000042"))
    text = printed(roast_table([first, second]), width=width)
    assert max(map(len, text.splitlines())) <= width
    assert "10:30" in text
    assert "(15:00)" in text
    assert "in brackets" in text
    assert "over the" in text


def test_a_plan_is_shown_with_what_the_board_takes_for_what_it_does_not_say():
    text = printed(*plan_screen({"name": "Mine", "method": "wok", "limit": 464, "unit": "F", "heater_on_relay": True}))
    assert "464 °F" in text
    assert "104 °F" in text
    assert "20 min" in text
    assert "beans in, yellow, first crack, second crack, beans out" in text
    assert "never the only protection" in text


def live(**changes):
    usual = {
        "uptime_ms": 500_000,
        "stage": "roasting",
        "roast_ms": 400_000,
        "temperature_c": 180.25,
        "cold_junction_c": 28.0,
        "rate_of_rise_c_per_min": 8.0,
        "relay_closed": False,
        "fault": 0,
        "trip": 0,
        "last_event": 3,
        "roast_number": 12,
    }
    return Live(**(usual | changes))


def test_watching_shows_clock_rate_and_what_comes_next():
    roast = Roast(live(), True, True, [LiveMark("beans in", 60_000, 0)], [LiveEvent(1, 60_000, "mark", "beans in")], PLAN)
    text = printed(watch_screen(roast, "C"))
    assert "5:40" in text
    assert "+8.0 °C/min" in text
    assert "First crack (196 °C) in about 1:58" in text


def test_watching_says_a_trip_and_a_fault_in_words():
    plan = PLAN | {"heater_on_relay": True}
    roast = Roast(live(stage="tripped", trip=trips.OVER_LIMIT, fault=faults.OPEN, temperature_c=None), True, True, plan=plan)
    text = " ".join(printed(watch_screen(roast, "C")).split())
    assert "CUT OFF: over the limit. Take the beans off the heat." in text
    assert "NO READING: thermocouple open." in text
    assert "CUT OFF: over the limit" in status_line(roast, "C")


def tripped(plan, trip=trips.OVER_LIMIT, marks=("beans in",), running=True):
    known = [LiveMark(name, 60_000 * (place + 1), 0) for place, name in enumerate(marks)]
    return Roast(live(stage="tripped", trip=trip), running, True, known, plan=plan)


def test_over_a_flame_nothing_is_said_to_be_cut_off():
    roast = tripped(PLAN)
    text = " ".join(printed(watch_screen(roast, "C"), width=100).split())
    assert "ALARM, HEAT STILL ON: over the limit. " in text
    assert "alarm at 245 °C" in text
    for told in (text, status_line(roast, "C")):
        assert "cut off" not in told.lower()
    assert "ALARM, HEAT STILL ON: over the limit" in status_line(roast, "C")
    for over in (tripped(PLAN, marks=("beans in", "beans out")), tripped(PLAN, trips.SENSOR_FAULT, (), running=False)):
        assert "ALARM: " in status_line(over, "C")
    assert "ALARM, HEAT STILL ON: " in status_line(tripped(PLAN, trips.RESET_IN_ROAST, (), running=False), "C")


POPPER = PLAN | {"method": "hot-air popper", "heater_on_relay": True}


@pytest.mark.parametrize("trip", sorted(set(trips.NAMES) - {trips.NONE, trips.RELAY_WELDED}))
def test_a_popper_with_beans_in_it_is_tipped_out_before_anything_else(trip):
    text = " ".join(printed(watch_screen(tripped(POPPER, trip), "C"), width=100).split())
    assert f"CUT OFF: {trips.NAMES[trip]}. {trips.TIP_OUT_ADVICE} {trips.ADVICE[trip]}" in text


@pytest.mark.parametrize(
    "roast",
    [
        tripped(POPPER, marks=("beans in", "beans out")), tripped(POPPER, marks=()), tripped(PLAN),
        tripped(POPPER | {"method": "other"}), tripped(POPPER | {"heater_on_relay": False}),
    ],
    ids=["beans out", "no beans yet", "skillet", "another appliance", "a popper that is not on the relay"],
)  # fmt: skip
def test_nobody_else_is_told_to_tip_out(roast):
    assert trips.TIP_OUT_ADVICE not in " ".join(printed(watch_screen(roast, "C"), width=100).split())


def test_a_kept_roast_of_a_popper_says_so_too(tmp_path):
    for plan, out, told in ((POPPER, (), True), (POPPER, usual_events()[6:], False), (PLAN, (), False)):
        marks = [event for event in out if event[1] == events.MARK]
        late = 890_000 if marks else 660_000
        entry, story = kept(tmp_path, made_roast([*usual_events()[:6], *marks, (late, *TRIPPED[-2][1:])], plan=plan))
        text = " ".join(printed(*roast_screen(entry, story, View(100, 40, "C")), width=100).split())
        assert (f"{trips.TIP_OUT_ADVICE} {trips.ADVICE[trips.OVER_LIMIT]}" in text) is told
        assert ("! the cutoff tripped at" in text) is (plan is POPPER)


def test_a_rehearsal_over_a_flame_says_that_nothing_would_have_been_cut_off():
    trip = Happening(1000, TRIPPED_KIND, "over the limit", "alarm", 24_510)
    flame, relay = (
        printed(*rehearsal_screen(Rehearsal("it", (trip,), (), drives_heater=drives)), width=200) for drives in (False, True)
    )
    assert "The cutoff would have tripped" in relay
    assert "nothing would have been cut off" in flame
    assert "cutoff" not in flame


def test_the_next_milestone_passes_over_what_has_happened_and_other_stages():
    assert next_milestone(PLAN, "roasting", 190.0, 6.0, {"First crack"}).label == "City: take it out"
    assert next_milestone(PLAN, "preheat", 190.0, None, set()).label == "Load now"
    assert next_milestone(PLAN, "roasting", 190.0, -6.0, set()).in_ms is None
    assert next_milestone(PLAN, "cooling", 190.0, 6.0, set()) is None
    assert next_milestone(PLAN, "roasting", None, None, set()) is None
    assert next_milestone({"name": 3}, "roasting", 190.0, 6.0, set()) is None


def test_a_line_on_the_canvas_is_whole():
    canvas = Canvas(4, 2)
    canvas.line(0, 0, 7, 7)
    assert canvas.lines() == ["⠑⢄  ", "  ⠑⢄"]
    canvas.dot(-1, 3)
    canvas.dot(3, 99)
    assert canvas.lines() == ["⠑⢄  ", "  ⠑⢄"]


def test_a_scale_has_round_ticks_inside_its_range():
    assert Scale(0, 250, 100).ticks(6) == [0, 50, 100, 150, 200, 250]
    assert Scale(-1.5, 12.9, 90).ticks(11) == [0, 2, 4, 6, 8, 10, 12]
    assert rounded_range([25, 217], 50) == (0, 250)
    assert rounded_range([50, 50], 50) == (50, 100)
    assert Scale(5, 5, 10).dot(5) == 0


def test_large_digits_are_five_lines_of_one_width():
    lines = big("-217.5 °C")
    assert len(lines) == 5
    assert len({len(line) for line in lines}) == 1
    assert set("".join(big("217", ascii_only=True))) == {"#", " "}


@pytest.mark.parametrize(
    ("ms", "text"), [(0, "0:00"), (59_499, "0:59"), (59_500, "1:00"), (-90_000, "-1:30"), (-300, "0:00"), (None, "-")]
)
def test_a_length_of_time(ms, text):
    assert words.clock(ms) == text


F_PLAN = PLAN | {"unit": "F", "limit": 473}


def test_a_trip_is_told_in_the_unit_that_is_shown_the_limit_included():
    roast = Roast(Live(1, "roasting", 660_000, 245.1, 25.0, 8.0, False, 0, trips.OVER_LIMIT, 1, 3), running=True, plan=F_PLAN)
    told = LiveEvent(1, 660_000, "trip", trips.trip_words(trips.OVER_LIMIT, 24_510, 24_500))
    roast.happened.append(told)
    # 245.10 degC = 473.18 degF, 245 degC = 473 degF.
    assert event_line(told, "F") == "11:00  trip  over the limit: 473.2 °F, limit 473.0 °F"
    assert event_line(told, "C") == "11:00  trip  over the limit: 245.1 °C, limit 245.0 °C"
    text = printed(watch_screen(roast, "F"), width=100)
    assert "limit 473.0 °F" in text
    assert any("alarm at" in line and line.rstrip().endswith("473 °F") for line in text.splitlines())
    assert not re.search(r"\d °?C\b", text)


def test_only_a_trip_has_its_numbers_turned_a_label_keeps_its_own():
    assert event_line(LiveEvent(1, 0, "milestone", "at 200.00 C: load"), "F").endswith("at 200.00 C: load")


def test_a_list_tells_each_roast_in_the_unit_of_its_own_plan(tmp_path):
    with Journal(tmp_path / "journal.sqlite") as journal:
        for board, plan in (("E661410A", PLAN), ("E661410B", F_PLAN)):
            raw = made_roast(board=board, plan=plan)
            journal.keep("000001.roast", raw, summarise(tell(raw), False))
        entries = journal.entries()
    assert [entry.unit for entry in entries] == ["C", "F"]
    end_f = words.degrees(entries[1].end_centi, "F")
    own, celsius = printed(roast_table(entries), width=100), printed(roast_table(entries, "C"), width=100)
    assert end_f in own
    assert "°C" in own
    assert "°F" not in celsius


def test_an_early_trip_does_not_empty_the_rate_of_rise(tmp_path):
    # Over a flame the beans go on although the relay opened, here before the reading turned.
    early = [*usual_events(), (95_000, events.TRIP, trips.OVER_LIMIT, 21_000, 20_000)]
    entry, story = kept(tmp_path, made_roast(early))
    text = printed(*roast_screen(entry, story, View(100, 40, "C")), width=100)
    rates = text.split("rate of rise, per minute")[1].split("└")[0]
    assert sum("\u2800" < letter <= "\u28ff" for letter in rates) > 20


def test_where_there_is_no_rate_of_rise_no_empty_chart_is_drawn(tmp_path):
    entry, story = kept(tmp_path, made_roast(usual_events()[:2], until_ms=100_000, end=None))
    text = printed(*roast_screen(entry, story, View(100, 40, "C")), width=100)
    assert "no rate of rise: it is told from 30 s after the lowest reading" in text
    assert "per minute" not in text
