"""The list of all roasts with small curves."""

import json
import re
from typing import Any, NamedTuple

from panchime.analysis.own_roasts import marks_at
from panchime.analysis.sketch import Sketch
from panchime.journal.journal import RoastEntry
from panchime.journal.when import UNKNOWN
from panchime.records.records import when_of
from panchime.records.roast_record import RoastRecord
from panchime.report.figure import SMALL_EDGE, SMALL_HEIGHT, SMALL_WIDTH, small_path
from panchime.report.page import BRIEF_SCRIPTS, CHART_STYLES, LIST_SCRIPTS, LIST_STYLES, json_for_page
from panchime.report.page import page as html_page
from panchime.report.view import Shown
from panchime.terminal.safe_text import safe_line
from panchime.terminal.words import clock, share, when
from panchime_fw.plan import BEANS_IN, BEANS_OUT, FIRST_CRACK

AT_ONCE = 100  # roasts that the page shows before more are asked for; list.js has the same
DATA = re.compile(rb'<script type="application/json" id="roasts-data">(.*?)</script>', re.DOTALL)


class Row(NamedTuple):
    """One roast of the list. ``curve`` is SVG path data; what is not known is None and sorts last.

    ``said``: what the person wrote about it, which is not shown but can be searched for.
    ``page``: where the list leads. ``made_from``: the fingerprint of what that page, and so this row, was made from.
    """

    number: int
    plan: str
    method: str
    state: str
    trip: str
    curve: str
    facts: list[str]
    said: str
    when_ms: int | None
    length_ms: int | None
    end_centi: int | None
    development: float | None
    loss: float | None
    page: str
    made_from: str


def row_of(entry: RoastEntry, record: RoastRecord, drawn: Sketch, shown: Shown, page: str, made_from: str) -> Row:
    """The row of a roast; times are those of its marks, with the person's corrections."""
    at = marks_at(entry, record)
    begin, crack, out = at.get(BEANS_IN), at.get(FIRST_CRACK), at.get(BEANS_OUT)
    length = out - begin if begin is not None and out is not None else None
    development = (out - crack) / length if length and out is not None and crack is not None else None
    moment = when_of(entry, record)
    facts = ["date unknown" if moment.kind == UNKNOWN else when(moment), entry.method]
    facts.append(clock(length) if length is not None else f"log of {clock(entry.log_ms)}")
    if entry.end_centi is not None:
        facts.append(f"out at {shown.degrees(entry.end_centi / 100, 0)}")
    elif entry.peak_centi is not None:
        facts.append(f"highest {shown.degrees(entry.peak_centi / 100, 0)}")
    if development is not None:
        facts.append(f"development {share(development)}")
    if record.loss is not None:
        facts.append(f"lost {record.loss * 100:.1f} %")
    if record.lot is not None:
        facts.append(record.lot.name)
    facts.append(entry.state)
    return Row(
        entry.number,
        safe_line(entry.plan_name),
        safe_line(entry.method),
        entry.state,
        safe_line(entry.trip or ""),
        small_path(drawn.t_ms, drawn.temperature_centi, begin or 0, out if out is not None else entry.log_ms),
        [safe_line(fact) for fact in facts],
        safe_line(" ".join([*(note.text for note in record.notes), *(tasting.words for tasting in record.tastings)])),
        moment.from_utc_ms if moment.from_utc_ms is not None else moment.to_utc_ms,
        length,
        entry.end_centi,
        None if development is None else round(development, 4),
        None if record.loss is None else round(record.loss, 4),
        page,
        made_from,
    )


def index_page(rows: list[Row], made_from: str) -> str:
    """The HTML of the list, the newest first.

    The first ones stand in the page itself; the script draws any others from the data below, as they are asked for: ten
    thousand drawn at once would be more than a phone likes.
    """
    newest_first = rows[::-1]
    return html_page(
        "index.html",
        LIST_SCRIPTS,
        LIST_STYLES,
        made_from,
        shared=True,
        roasts=newest_first[:AT_ONCE],
        count=len(rows),
        box=f"0 0 {SMALL_WIDTH + 2 * SMALL_EDGE} {SMALL_HEIGHT + 2 * SMALL_EDGE}",
        data=json_for_page(newest_first),
        methods=sorted({row.method for row in rows}),
        states=sorted({row.state for row in rows}),
    )


def brief_page(made_from: str) -> str:
    """The HTML of the page that draws any roast that is there only in brief."""
    return html_page("brief.html", BRIEF_SCRIPTS, CHART_STYLES, made_from, shared=True)


def rows_in(html: bytes) -> dict[int, Row]:
    """The rows in a list that is there, by the roast's number; empty when it holds none that can be read."""
    found = DATA.search(html)
    try:
        cells: list[list[Any]] = json.loads(found[1]) if found else []
        return {row.number: row for row in (Row(*cell) for cell in cells)}
    except (ValueError, TypeError):
        return {}
