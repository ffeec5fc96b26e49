"""Roasts that have no page of their own yet: what their page draws when it is opened, many in one file."""

import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from panchime.analysis.account import mark_c
from panchime.analysis.sketch import Sketch
from panchime.journal.journal import RoastEntry
from panchime.journal.story import Story
from panchime.records.roast_record import RoastRecord
from panchime.report.page_file import read_or_nothing, write_text
from panchime.report.payload import page_data, roast_payload
from panchime.report.roast_page import dated, drawn_figure, legend_of, panel_names, trouble_heading
from panchime.report.sections import Section, degree, marks, percent, stages_by, troubles
from panchime.report.sketched import sketched_report
from panchime.report.view import RoastReport, Shown
from panchime.report.written import written_down
from panchime.terminal.safe_text import safe_lines
from panchime.terminal.words import clock

FOLDER = "brief"
IN_A_FILE = 50  # roasts; brief.js has the same
STAMP = re.compile(rb"^// made-from ([0-9a-f]{64})\n")


def brief_file(folder: Path, number: int) -> Path:
    """The file that holds a roast: named by the first number that it may hold."""
    return folder / FOLDER / f"{(number - 1) // IN_A_FILE * IN_A_FILE + 1}.js"


def brief_stamp(file: Path) -> str | None:
    """The fingerprint in such a file, None when none is there."""
    found = STAMP.match(read_or_nothing(file))
    return found[1].decode() if found else None


def write_brief(file: Path, roasts: Mapping[int, Any], made_from: str) -> None:
    """Writes such a file: a script, since a page that was opened from a disk may load nothing else."""
    text = json.dumps(roasts, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    write_text(file, f"// made-from {made_from}\nroastsRead({text});\n")


def brief_of(entry: RoastEntry, record: RoastRecord, drawn: Sketch, shown: Shown, told: Story | None = None) -> dict[str, Any]:
    """What the page of one roast draws. Every text in it is text, and is put into the page as such.

    ``told``: its whole story, which a roast that tripped is worth.
    """
    report = sketched_report(entry, record, drawn, told)
    story = report.account.story
    names = panel_names(shown)
    sections = [make(report, shown) for make in (marks, stages, figures, degree)]
    found: dict[str, Any] = {
        "title": f"Roast {entry.number}: {story.plan_name}",
        "heading": heading(report),
        "trouble": trouble_heading(story),
        "troubles": troubles(report, shown),
        "written": written_down(record, shown),
        "sections": [section_data(section) for section in sections if section.rows or section.notes],
    }
    found = {key: harmless(value) for key, value in found.items()} | {"data": None}
    if story.t_ms:
        payload = roast_payload(report, shown)
        found |= {
            "data": page_data(payload),
            "panels": [names[0], f"{names[1]}, over minutes since {report.since}"],
            "legend": legend_of(payload),
            "figure": drawn_figure(payload, report, shown, " ".join(found["heading"])),
        }
    return found


def heading(report: RoastReport) -> list[str]:
    """Which roast this is."""
    entry, roast_ms = report.entry, report.account.story.roast_ms
    length = f"log of {clock(entry.log_ms)}" if roast_ms is None else f"{clock(roast_ms)} from beans in to beans out"
    return [f"{dated(report.when)}. {entry.method}. {length}. {entry.state}.", f"Board {entry.board_serial}."]


def stages(report: RoastReport, shown: Shown) -> Section:
    """Drying, browning, development: time, share, and the rise between the readings at the marks."""
    story = report.account.story
    return stages_by(report, shown, lambda portion: (mark_c(story, portion.from_mark), mark_c(story, portion.to_mark)))


def figures(report: RoastReport, shown: Shown) -> Section:
    """The roast in single numbers, as far as no log is decoded."""
    entry, account = report.entry, report.account
    rows = []
    if account.development_ms is not None:
        rows.append(("development", f"{clock(account.development_ms)}, {percent(account.development_share)} of the roast"))
    for words, centi in (("reading at beans out", entry.end_centi), ("highest reading of the beans", entry.peak_centi)):
        if centi is not None:
            rows.append((words, shown.degrees(centi / 100)))
    return Section("The roast in figures", ("", "value"), rows)


def section_data(section: Section) -> dict[str, Any]:
    """A table for the script that draws it."""
    return {
        "title": section.title,
        "headings": section.headings,
        "right": [heading in section.right for heading in section.headings],
        "rows": section.rows,
        "notes": section.notes,
    }


def harmless(value: Any) -> Any:
    """Every text without control characters and marks that turn the reading direction."""
    if isinstance(value, str):
        return safe_lines(value)
    if isinstance(value, dict):
        return {key: harmless(item) for key, item in value.items()}
    return [harmless(item) for item in value] if isinstance(value, (list, tuple)) else value
