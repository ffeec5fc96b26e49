"""The folder of a long journal: whole pages of the newest, the others in brief, made by several processes."""

import base64
import json
import re
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from panchime.analysis.sketch import sketch
from panchime.analysis.smoothing import smooth
from panchime.analysis.span import roast_span, turning_point
from panchime.cli.main import main
from panchime.journal.journal import Journal
from panchime.journal.story import tell
from panchime.journal.summary import summarise
from panchime.records.corrections import Correction
from panchime.records.records import Records
from panchime.report import spreading
from panchime.report.folder import write_folder
from panchime.report.index_page import rows_in
from panchime.report.payload import NO_VALUE, folded, packed
from panchime.report.sketched import sketched_report
from panchime_fw import events, faults, trips

sys.path.insert(0, str(Path(__file__).parent))
from kitchen_roast import kitchen_roast
from made_roast import PLAN, made_roast, usual_events

HOSTILE = "</script><script>document.title='taken'</script>\u202e"


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def keep(count, **changes):
    with Journal() as journal:
        first = journal.count()
        for number in range(first + 1, first + count + 1):
            raw = made_roast(boot=100 + number, **changes)
            journal.keep(f"{number:06d}.roast", raw, summarise(tell(raw), running=False))


def write(whole_pages, progress=None):
    with Journal() as journal:
        return write_folder(journal, Path("all"), None, progress=progress, whole_pages=whole_pages)


def brief(name="1.js"):
    text = Path("all/brief", name).read_text(encoding="utf-8")
    found = re.fullmatch(r"// made-from [0-9a-f]{64}\nroastsRead\((.*)\);\n", text)
    assert found, "a script of one call"
    return json.loads(found[1])


def names():
    return sorted(file.name for file in Path("all").rglob("*.*") if file.parent.name != "shared")


def test_older_roasts_are_in_brief_and_the_list_leads_to_each():
    keep(3)
    assert write(1) == (3, 4)
    assert names() == ["1.js", "index.html", "roast-3.html", "roast.html"]
    assert set(brief()) == {"1", "2"}
    assert [row.page for row in rows_in(Path("all/index.html").read_bytes()).values()] == [
        "roast-3.html",
        "roast.html#2",
        "roast.html#1",
    ]
    assert write(1) == (3, 0)


def test_a_change_is_written_and_nothing_else():
    keep(3)
    write(1)
    page = Path("all/roast-3.html").stat().st_mtime_ns
    with Journal() as journal:
        Records(journal).roasts.add_note(1, "Windy.")
    assert write(1) == (3, 2), "the file that holds it, and the list"
    assert ["note of", "Windy."] in [[name[:7], words] for name, words in brief()["1"]["written"]]
    assert Path("all/roast-3.html").stat().st_mtime_ns == page
    Path("all/brief/1.js").unlink()
    assert write(1) == (3, 1)


def test_a_page_that_is_there_is_kept_up_to_date_and_no_brief_is_left_beside_it():
    keep(3)
    write(None)
    assert names() == ["index.html", "roast-1.html", "roast-2.html", "roast-3.html"]
    with Journal() as journal:
        Records(journal).roasts.add_note(1, "Windy.")
    assert write(1) == (3, 2)
    assert "Windy." in Path("all/roast-1.html").read_text(encoding="utf-8")
    Path("all/roast-1.html").unlink()
    write(1)
    assert set(brief()) == {"1"}
    write(None)
    assert names() == ["index.html", "roast-1.html", "roast-2.html", "roast-3.html", "roast.html"]


def test_every_page_is_asked_for_on_the_command_line(monkeypatch, capsys):
    monkeypatch.setattr("panchime.report.folder.WHOLE_PAGES", 1)
    keep(2)
    assert main(["report", "--all", "-o", "all"]) == 0
    assert not Path("all/roast-1.html").exists()
    assert main(["report", "--all", "--every-page", "-o", "all"]) == 0
    assert Path("all/roast-1.html").exists()


def test_texts_in_brief_are_texts():
    keep(1, plan=PLAN | {"name": HOSTILE, "method": HOSTILE}, model=HOSTILE)
    with Journal() as journal:
        Records(journal).roasts.add_note(1, HOSTILE)
    write(0)
    found = brief()["1"]
    assert "\u202e" not in json.dumps(found, ensure_ascii=False)
    assert found["title"].startswith("Roast 1: </script><script>"), "as it was written: the script puts it in as text"
    assert "<script" not in found["figure"], "the drawing is parsed as SVG"


def test_brief_agrees_with_the_whole_analysis():
    for name in ("skillet-mild", "oven-tray-mild"):
        story, _, raw = kitchen_roast(name)
        with Journal() as journal:
            number = journal.keep(f"{name}.roast", raw, summarise(story, running=False))
            report = sketched_report(journal.entry(number), Records(journal).of(number), sketch(raw))
        told, curve = report.account, smooth(story)
        assert told.story.roast_ms == story.roast_ms
        assert [mark.t_ms for mark in told.story.marks] == [mark.t_ms for mark in story.marks]
        for mark, exact in zip(told.story.marks, story.marks, strict=True):
            assert mark.temperature_centi == pytest.approx(exact.temperature_centi, abs=200)
        assert told.end_c == story.mark("beans out").temperature_centi / 100
        assert told.development_share == pytest.approx(story.portions[-1].share)
        span = roast_span(story, turning_point(story, curve))
        inside = (told.curve.t_s > span.from_s + 40) & (told.curve.t_s < span.to_s - 40)
        wanted = np.interp(told.curve.t_s[inside], curve.t_s, curve.rate_c_per_min)
        # One reading in nineteen scatters by a quarter degree: over 40 s that leaves about half a degree a minute.
        assert np.sqrt(np.mean((told.curve.rate_c_per_min[inside] - wanted) ** 2)) < 1.0


def test_corrected_marks_are_in_brief():
    keep(1)
    with Journal() as journal:
        Records(journal).roasts.correct(1, Correction("yellow", None))
        Records(journal).roasts.correct(1, Correction("first crack", 620_000))
    write(0)
    marks, stages = brief()["1"]["sections"][:2]
    assert [row[1] for row in marks["rows"]] == ["beans in", "first crack", "beans out"]
    assert "first crack: the board recorded 8:30." in marks["notes"]
    assert [row[0] for row in stages["rows"]] == ["drying and browning", "development"]


@pytest.mark.parametrize(
    "changes", [{"events_": []}, {"until_ms": 500, "end": None}, {"faults": [(0, 900_000, faults.OPEN)]}, {"plan": None}]
)
def test_poor_logs_are_in_brief_too(changes):
    raw = made_roast(*([changes.pop("events_")] if "events_" in changes else []), **changes)
    with Journal() as journal:
        journal.keep("1.roast", raw, summarise(tell(raw), running=False))
    assert write(0) == (1, 3)
    assert brief()["1"]["heading"]


def test_a_trip_is_told_in_full_in_brief_too():
    raw = made_roast([*usual_events()[:6], (650_000, events.TRIP, trips.OVER_LIMIT, 24_600, 24_500)])
    with Journal() as journal:
        journal.keep("1.roast", raw, summarise(tell(raw), running=False))
    write(0)
    assert brief()["1"]["trouble"] == "The alarm sounded"
    (told,) = brief()["1"]["troubles"]
    assert told.startswith("The alarm sounded at 9:20 (no heater on the relay): over the limit, reading 246.0 °C")
    assert [flag["kind"] for flag in brief()["1"]["data"]["flags"]].count("trip") == 1


def test_several_processes_make_the_same_as_one(monkeypatch):
    keep(5)
    write(3)
    alone = {file: file.read_bytes() for file in Path("all").rglob("*.*")}
    for file in alone:
        file.unlink()
    monkeypatch.setattr(spreading, "FEW", 0)
    monkeypatch.setattr(spreading, "processors", lambda: 2)
    told = []
    assert write(3, lambda done, of: told.append((done, of))) == (5, 6)
    assert {file: file.read_bytes() for file in Path("all").rglob("*.*")} == alone
    assert told[-1] == (5, 5)


@given(st.lists(st.one_of(st.just(float("nan")), st.floats(-300, 1200)), max_size=40))
def test_values_come_back_from_the_page(values):
    found = packed(np.array(values, dtype=np.float64))
    numbers = np.frombuffer(base64.b64decode(found["bits"]), dtype="<u2")
    back = np.where(numbers == NO_VALUE, np.nan, (found["base"] + numbers.astype(np.float64)) / found["per"])
    near = 0.5 / found["per"] + 1e-9
    assert found["per"] >= 10
    assert np.allclose(back, np.array(values, dtype=np.float64), rtol=0, atol=near, equal_nan=True)


@given(st.lists(st.integers(0, 2000), min_size=1, max_size=60), st.booleans())
def test_moments_come_back_from_the_page(steps, even):
    moments = np.cumsum([250] * len(steps) if even else steps) - 90_000
    back, moment = [], 0
    for item in folded(moments):
        if isinstance(item, int):
            back.append(item)
            continue
        for _ in range(item[1]):
            moment += item[0]
            back.append(moment)
    assert back == moments.tolist()


def test_a_list_that_was_spoilt_is_written_anew():
    keep(2)
    write(None)
    index = Path("all/index.html")
    spoilt = index.read_text(encoding="utf-8").replace('id="roasts-data">[[', 'id="roasts-data">[{', 1)
    index.write_text(spoilt, encoding="utf-8")
    assert rows_in(index.read_bytes()) == {}
    write(None)
    assert len(rows_in(index.read_bytes())) == 2
