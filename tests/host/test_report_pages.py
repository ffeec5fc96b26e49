"""Pages as text: nothing in them can become code, nothing is loaded, only what changed is written."""

import base64
import hashlib
import json
import re
import sys
from html.parser import HTMLParser
from math import isnan
from pathlib import Path

import pytest

from panchime.cli.main import main
from panchime.journal.journal import Journal
from panchime.journal.story import tell
from panchime.journal.summary import summarise
from panchime.records.corrections import Correction
from panchime.records.records import Records
from panchime.report import page as page_module
from panchime.report.figure import Line, Panel, Tag, drawing, small_path
from panchime.report.gathering import gather
from panchime.report.index_page import rows_in
from panchime.report.payload import flags, guide_points, roast_payload
from panchime.report.view import Shown
from panchime.terminal.safe_text import safe_line
from panchime_fw import events, faults, trips

sys.path.insert(0, str(Path(__file__).parent))
from made_roast import BEANS_IN_MS, END_MS, PLAN, made_roast, usual_events

HOSTILE = "</script><script>document.title='taken'</script><img src=x onerror=alert(1)>&\"'\u2028\u202e-->"


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def keep(raw, name="000012.roast"):
    with Journal() as journal:
        return journal.keep(name, raw, summarise(tell(raw), running=False))


def say(number, **words):
    with Journal() as journal:
        Records(journal).roasts.say(number, **words)


def note(number, text):
    with Journal() as journal:
        Records(journal).roasts.add_note(number, text)


class Elements(HTMLParser):
    """Every element with its attributes, the text of scripts and styles apart from the text a person reads."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.elements, self.codes, self.read, self.comments = [], [], "", []
        self._within = None
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag in ("script", "style"):
            self._within = (tag, dict(attrs))
            self.codes.append([tag, dict(attrs), ""])

    def handle_endtag(self, tag):
        self.read += " " if tag in ("td", "th") else ""
        if self._within and tag == self._within[0]:
            self._within = None

    def handle_data(self, data):
        if self._within:
            self.codes[-1][2] += data
        else:
            self.read += data

    def handle_comment(self, data):
        self.comments.append(data)

    def named(self, tag):
        return [attrs for name, attrs in self.elements if name == tag]


def report(*arguments):
    assert main(["report", *arguments]) == 0


def hostile_pages():
    """The pages of a roast whose every text tries to break out, by name."""
    plan = PLAN | {"name": HOSTILE, "method": HOSTILE, "marks": [PLAN["marks"][0], HOSTILE, *PLAN["marks"][2:]]}
    plan["milestone"] = [milestone | {"label": HOSTILE, "sound": HOSTILE} for milestone in PLAN["milestone"]]
    for boot in (40, 41):
        keep(made_roast(plan=plan, model=HOSTILE, firmware=HOSTILE, board="X" + HOSTILE, boot=boot))
    note(1, HOSTILE)
    say(1, degree=HOSTILE)
    report("1", "-o", "roast.html")
    report("--all", "-o", "all")
    assert main(["compare", "1", "2", "-o", "compare.html"]) == 0
    names = ("roast.html", "compare.html", "all/index.html", "all/roast-1.html")
    return {name: Path(name).read_text(encoding="utf-8") for name in names}


def test_hostile_texts_stay_texts():
    keep(made_roast(boot=1))
    keep(made_roast(boot=2))
    report("1", "-o", "tame.html")
    tame = [name for name, _ in Elements(Path("tame.html").read_text(encoding="utf-8")).elements].count("script")
    for path in Path("home").glob("*"):
        path.unlink()
    for name, text in hostile_pages().items():
        found = Elements(text)
        assert "<script>document.title" in found.read, name
        if name.endswith(("roast.html", "roast-1.html")):
            assert len(found.named("script")) == tame
        assert not found.named("img")
        assert not [key for _, attrs in found.elements for key in attrs if key.startswith("on") or key == "style"]
        assert "\u202e" not in found.read, "a mark that turns the reading direction got through"


def test_data_of_the_page_comes_back_as_it_was_but_for_unsafe_characters():
    for name, text in hostile_pages().items():
        for _, attrs, code in Elements(text).codes:
            if attrs.get("type") == "application/json":
                assert "<" not in code
                data = json.loads(code)
                words = [row[1] for row in data] if name.endswith("index.html") else [flag["words"] for flag in data["flags"]]
                assert safe_line(HOSTILE) in words


def test_policy_allows_the_pages_own_code_and_nothing_else():
    for name, text in hostile_pages().items():
        found = Elements(text)
        policies = [meta["content"] for meta in found.named("meta") if meta.get("http-equiv") == "Content-Security-Policy"]
        assert len(policies) == 1, name
        rules = dict(rule.strip().split(" ", 1) for rule in policies[0].split(";"))
        assert rules["default-src"] == "'none'"
        assert rules["base-uri"] == rules["form-action"] == "'none'"
        assert "unsafe" not in policies[0]
        assert "http" not in policies[0]
        for tag, attrs, code in found.codes:
            if "src" in attrs:
                assert rules["script-src"] == rules["style-src"] == "'self' file:"
                assert code == ""
            elif attrs.get("type") != "application/json":
                digest = base64.b64encode(hashlib.sha256(code.encode()).digest()).decode()
                assert f"'sha256-{digest}'" in rules[f"{tag}-src"], f"{name}: a {tag} would not run"


def test_pages_load_nothing_but_what_lies_in_their_folder():
    for name, text in hostile_pages().items():
        for tag, attrs in Elements(text).elements:
            loaded = [attrs[key] for key in ("src", "href") if key in attrs and tag != "a"]
            for link in loaded:
                if link != "data:,":
                    assert name.startswith("all/"), f"{name} is one file"
                    assert re.fullmatch(r"shared/[\w.]+", link), (name, link)
                    assert (Path("all") / link).is_file()
            if tag == "a":
                assert re.fullmatch(r"index\.html|roast-\d+\.html", attrs["href"]), (name, attrs)
        assert "@import" not in text
        assert "url(" not in text


def test_libraries_of_others_are_unchanged_and_their_licence_is_in_the_page():
    vendor = Path(page_module.__file__).parent / "vendor"
    rows = re.findall(r"\| `([^`]+)` \| .* \| ([0-9a-f]{64}) \|", (vendor / "README.md").read_text(encoding="utf-8"))
    assert {name for name, _ in rows} == {"uplot/uPlot.iife.min.js", "uplot/uPlot.min.css"}
    for name, digest in rows:
        assert hashlib.sha256((vendor / name).read_bytes()).hexdigest() == digest
    keep(made_roast())
    report("1", "-o", "roast.html")
    assert any("The MIT License" in comment for comment in Elements(Path("roast.html").read_text(encoding="utf-8")).comments)


def test_page_says_what_the_story_says(capsys):
    keep(made_roast())
    say(1, green_mg=250_000, roasted_mg=214_000, day_temperature_centi=1400)
    note(1, "Windy.\nThe pan smoked.")
    report("1")
    assert capsys.readouterr().out == "roast-1.html\n"
    read = " ".join(Elements(Path("roast-1.html").read_text(encoding="utf-8")).read.split())
    story = tell(made_roast())
    for mark in story.marks:
        assert mark.name in read
        assert f"{mark.temperature_centi / 100:.1f} °C" in read
    for words in ("Development took 2:00, 19.0 % of the roast.", "drying 4:00 38 %", "browning 4:30 43 %", "Windy.", "14.4 %"):
        assert words in read
    assert "Weight loss and end temperature agree." in read
    assert "not enough roasts yet: 1 of 6" in read
    assert "never the only protection" in read


def test_fahrenheit_page():
    keep(made_roast(plan=PLAN | {"unit": "F"}))
    report("1", "-o", "f.html", "--heat-above", "300")
    read = " ".join(Elements(Path("f.html").read_text(encoding="utf-8")).read.split())
    story = tell(made_roast())
    assert f"{story.mark('beans out').temperature_centi / 100 * 1.8 + 32:.1f} °F" in read
    assert re.search(r"heat since yellow, degree-minutes \d+ above 300 °F", read)
    assert "400 to 420 °F" in read
    assert "°C/min" not in read


def test_corrections_are_shown_beside_what_was_recorded():
    keep(made_roast())
    with Journal() as journal:
        records = Records(journal)
        records.roasts.correct(1, Correction("first crack", 620_000))
        records.roasts.correct(1, Correction("yellow", None))
    report("1", "-o", "c.html")
    read = " ".join(Elements(Path("c.html").read_text(encoding="utf-8")).read.split())
    assert "first crack: the board recorded 8:30." in read
    assert "yellow at 4:00 was struck out." in read
    assert "Development took 1:40" in read


def test_trip_faults_and_losses_stand_at_the_top():
    tripped = [*usual_events()[:7], (250_000, events.RELAY, 1, 0, 0), (650_000, events.TRIP, 1, 24600, 24500)]
    keep(made_roast(tripped, faults=[(300_000, 312_000, faults.OPEN)], plan=PLAN | {"heater_on_relay": True}))
    report("1", "-o", "t.html")
    read = " ".join(Elements(Path("t.html").read_text(encoding="utf-8")).read.split())
    assert read.index("The cutoff tripped at 9:20") < read.index("Beans went in")
    assert "reading 246.0 °C, limit 245.0 °C" in read
    assert "No reading from 3:30 on for 12 s" in read


POPPER = PLAN | {"method": "hot-air popper", "heater_on_relay": True}


@pytest.mark.parametrize("plan", [PLAN, POPPER], ids=["flame", "popper"])
def test_a_trip_is_told_as_what_it_did(plan):
    keep(made_roast([*usual_events()[:6], (650_000, events.TRIP, trips.OVER_LIMIT, 24600, 24500)], plan=plan))
    report("1", "-o", "t.html")
    page = Path("t.html").read_text(encoding="utf-8")
    read = " ".join(Elements(page).read.split())
    with Journal() as journal:
        words = [flag["words"] for flag in flags(gather(journal, 1, None)) if flag["kind"] == "trip"]
    if plan is POPPER:
        assert words == ["cut off: over the limit"]
        assert "The cutoff tripped at 9:20: over the limit" in read
        assert f"{trips.TIP_OUT_ADVICE} {trips.ADVICE[trips.OVER_LIMIT]}" in read
    else:
        assert words == ["alarm: over the limit"]
        assert "The alarm sounded at 9:20 (no heater on the relay): over the limit" in read
        assert "cutoff tripped" not in read
        assert trips.TIP_OUT_ADVICE not in read


@pytest.mark.parametrize(
    "raw",
    [
        made_roast([]),
        made_roast([], end=None, until_ms=500),
        made_roast([], faults=[(0, END_MS, faults.OPEN)]),
        made_roast(plan=None),
        made_roast(plan={"name": 7, "marks": "no", "milestone": 3, "guide": [[1]]}),
        made_roast(until_ms=BEANS_IN_MS + 5000, end=None),
    ],
)
def test_poor_logs_have_pages_too(raw):
    keep(raw)
    report("1", "-o", "poor.html")
    report("--all", "-o", "all")
    assert "Roast 1" in Path("poor.html").read_text(encoding="utf-8")


def test_guide_curve_of_the_plan_is_in_the_data():
    keep(made_roast(plan=PLAN | {"guide": [[60, 100], [300, 160], [600, 210]]}))
    with Journal() as journal:
        payload = roast_payload(gather(journal, 1, None), Shown("C"))
    reading, guide = payload["panels"][0]["lines"]
    t_ms = payload["t_ms"].tolist()
    assert (reading["name"], guide["name"]) == ("the reading", "guide curve")
    assert guide["values"][t_ms.index(180_000)] == 130.0
    assert isnan(guide["values"][t_ms.index(0)])


@pytest.mark.parametrize(
    "guide", [None, 5, "x", [[1]], [[1, "a"]], [[True, 2], [3, 4]], [[1, 1e300], [2, 3]], [[0, 1]] * 6000, {"a": 1}]
)
def test_guide_curves_that_are_none_are_left_out(guide):
    assert guide_points({"guide": guide}) == []


def test_a_file_that_is_no_report_is_not_overwritten(capsys):
    keep(made_roast())
    Path("mine.html").write_text("my own page")
    assert main(["report", "1", "-o", "mine.html"]) == 1
    assert "is no report: --force writes over it" in capsys.readouterr().err
    assert Path("mine.html").read_text() == "my own page"
    report("1", "-o", "mine.html", "--force")
    report("1", "-o", "mine.html")
    assert "Roast 1" in Path("mine.html").read_text(encoding="utf-8")
    assert not list(Path().glob(".*")), "a half-written page was left behind"


def test_folder_writes_only_what_changed(capsys):
    for boot in (40, 41, 42):
        keep(made_roast(boot=boot))

    def written():
        capsys.readouterr()
        report("--all", "-o", "all")
        return capsys.readouterr().out

    assert "3 roasts, 4 files written" in written()
    before = {file: file.stat().st_mtime_ns for file in Path("all").rglob("*.*")}
    assert "3 roasts, 0 files written" in written()
    assert before == {file: file.stat().st_mtime_ns for file in Path("all").rglob("*.*")}
    note(2, "Sweeter than the last one.")
    assert "3 roasts, 2 files written" in written(), "its page, and the list, which is searched for words"
    assert "Sweeter" in Path("all/roast-2.html").read_text(encoding="utf-8")
    Path("all/roast-3.html").unlink()
    assert "3 roasts, 1 file written" in written()
    keep(made_roast(boot=43))
    assert "4 roasts, 2 files written" in written(), "a new roast leaves the earlier ones alone"
    say(3, day_temperature_centi=500)
    assert "4 roasts, 3 files written" in written(), "its day counts for the later one, too"


def test_page_of_the_folder_is_that_of_the_single_report():
    for boot in range(40, 47):
        keep(made_roast(boot=boot))
        say(boot - 39, day_temperature_centi=300 * (boot - 39))
    report("--all", "-o", "all")
    report("7", "-o", "seven.html")
    one, other = (Elements(Path(name).read_text(encoding="utf-8")).read for name in ("seven.html", "all/roast-7.html"))
    assert one.split() == other.replace("All roasts", "").split()
    assert "This and 6 earlier roasts of the plan, 3 °C to 21 °C." in one


def test_list_links_to_every_roast_and_carries_what_it_sorts_by():
    for boot in (40, 41):
        keep(made_roast(boot=boot))
    say(2, green_mg=200_000, roasted_mg=170_000)
    report("--all", "-o", "all")
    found = Elements(Path("all/index.html").read_text(encoding="utf-8"))
    assert [item["data-number"] for item in found.named("li")] == ["2", "1"]
    rows = rows_in(Path("all/index.html").read_bytes())
    assert rows[2].length_ms == 630_000
    assert (rows[2].loss, rows[1].loss) == (0.15, None)
    assert [link["href"] for link in found.named("a")] == ["roast-2.html", "roast-1.html"]
    assert len([attrs for attrs in found.named("svg") if attrs["class"] == "small"]) == 2


def test_empty_journal_has_an_empty_list(capsys):
    report("--all", "-o", "all")
    assert "0 roasts, 1 file written" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["report"], "name one roast"),
        (["report", "1", "--all"], "name one roast"),
        (["report", "--all", "--json"], "--json is for one"),
        (["report", "9"], "has no roast 9"),
        (["report", "1", "-o", "nowhere/x.html"], "cannot be written"),
        (["report", "1", "--heat-above", "900"], "between 0 and 300"),
        (["compare", "1"], "2 to 12 different roasts"),
        (["compare", "1", "1"], "2 to 12 different roasts"),
        (["compare", "1", "2", "--align", "second crack"], "roast 1 has no mark 'second crack'; it has beans in, yellow"),
        (["compare", "1", "2", "--open"], "name a file with -o"),
    ],
)
def test_errors_say_the_way_out(capsys, arguments, words):
    keep(made_roast(boot=40))
    keep(made_roast(boot=41))
    assert main(arguments) == 1
    assert words in capsys.readouterr().err


def test_analysis_as_json(capsys):
    keep(made_roast())
    report("1", "--json")
    found = json.loads(capsys.readouterr().out)
    story = tell(made_roast())
    assert found["development_ms"] == 120_000
    assert found["turning_point"]["after_beans_in_ms"] == pytest.approx(story.turning_ms - BEANS_IN_MS, abs=3000)
    assert found["heat"]["base_c"] == story.mark("yellow").temperature_centi / 100
    assert found["day_effect"] is None
    assert len(found["smoothed"]["t_ms"]) == len(found["smoothed"]["rate_of_rise_c_per_min"]) == len(story.t_ms)
    assert sum(band["ms"] for band in found["bands"]) == pytest.approx(720_000 - found["turning_point"]["t_ms"], abs=600)


def test_comparison_in_the_terminal(capsys):
    keep(made_roast(boot=40))
    keep(made_roast(boot=41))
    say(1, day_temperature_centi=1000)
    assert main(["compare", "1", "2"]) == 0
    shown = capsys.readouterr().out
    assert "A  roast 1: Skillet, to City, 10:30" in shown
    assert "0.0 °C apart on average and 0.0 °C at worst" in " ".join(shown.split())
    assert "10.0 °C  28.0 °C (+18.0)" in shown
    assert "minutes since beans in" in shown
    curve = shown.split("\n\n")[0]
    assert "A" in curve
    assert "B" in curve


def test_a_comparison_names_its_measures_as_people_say_them(capsys):
    for boot, green_mg in ((40, 100_000), (41, 102_000)):
        number = keep(made_roast(boot=boot))
        say(number, green_mg=green_mg, roasted_mg=86_000)
    assert main(["compare", "1", "2"]) == 0
    rows = [re.split(r"\s{2,}", line.strip()) for line in capsys.readouterr().out.splitlines()]
    found = {row[0]: row[1:] for row in rows}
    assert found["development, share of the roast"] == ["19 %", "19 % (+0.0)"]
    assert found["weight loss"] == ["14 %", "16 % (+1.7)"]
    assert "heat since yellow, degree-minutes" in found


def test_comparison_at_another_mark(capsys):
    keep(made_roast(boot=40))
    moved = [(t + 30_000, kind, a, b, c + 30_000 if kind == events.MARK else c) for t, kind, a, b, c in usual_events()]
    keep(made_roast(moved, boot=41))
    assert main(["compare", "1", "2", "--align", "first crack", "--fahrenheit"]) == 0
    shown = capsys.readouterr().out
    assert "minutes since first crack" in shown
    assert "°F apart on average" in " ".join(shown.split())


def test_drawing_breaks_lines_where_there_is_nothing_and_keeps_texts_apart():
    line = Line([0, 60_000, 120_000, 180_000], [1.0, None, 3.0, 4.0], "reading", "<b>")
    svg = str(drawing([Panel("<i>", [line], 10)], [Tag("<", 60_000, "mark")], 0, 180_000, "minutes", "told & shown"))
    data = re.search(r'<path class="reading" d="([^"]*)"', svg)[1]
    # A minute between readings is a gap: three readings, three points, no line between them.
    assert (data.count("M"), data.count("L")) == (3, 0)
    assert "<b>" not in svg
    assert "&lt;b&gt;" in svg
    assert "told &amp; shown" in svg


def test_small_curve_needs_two_readings_and_is_thin():
    assert small_path([0], [5], 0, 10) == ""
    data = small_path(list(range(0, 900_000, 4750)), list(range(190)), 0, 900_000)
    assert 32 < data.count("L") + data.count("M") <= 64
    assert len(data) < 600
