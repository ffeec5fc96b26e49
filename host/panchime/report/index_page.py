"""The list of all roasts with small curves."""

from dataclasses import dataclass

from markupsafe import Markup

from panchime.analysis.sketch import Sketch
from panchime.journal.journal import RoastEntry
from panchime.journal.when import UNKNOWN
from panchime.records.records import when_of
from panchime.records.roast_record import RoastRecord
from panchime.report.figure import small_curve
from panchime.report.page import LIST_SCRIPTS, LIST_STYLES, page
from panchime.report.view import Shown
from panchime.terminal.words import clock, share, when
from panchime_fw.plan import BEANS_IN, BEANS_OUT, FIRST_CRACK


@dataclass(frozen=True)
class Row:
    """One roast of the list. What is not known is an empty text, which sorts last."""

    number: int
    plan: str
    method: str
    state: str
    trip: str
    curve: Markup
    facts: list[str]
    when_ms: int | str
    length_ms: int | str
    end_centi: int | str
    development: float | str
    loss: float | str


def row_of(entry: RoastEntry, record: RoastRecord, drawn: Sketch, shown: Shown) -> Row:
    """The row of a roast; times are those of its marks, with the person's corrections."""
    at = {mark.name: mark.t_ms for mark in entry.marks}
    for correction in record.corrections:
        if correction.t_ms is None:
            at.pop(correction.name, None)
        else:
            at[correction.name] = correction.t_ms
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
    curve = small_curve(drawn.t_ms, drawn.temperature_centi, begin or 0, out if out is not None else entry.log_ms)
    return Row(
        entry.number,
        entry.plan_name,
        entry.method,
        entry.state,
        entry.trip or "",
        curve,
        facts,
        known(moment.from_utc_ms if moment.from_utc_ms is not None else moment.to_utc_ms),
        known(length),
        known(entry.end_centi),
        "" if development is None else round(development, 4),
        "" if record.loss is None else round(record.loss, 4),
    )


def known(value: int | None) -> int | str:
    """A number, or an empty text."""
    return "" if value is None else value


def index_page(rows: list[Row], made_from: str) -> str:
    """The HTML of the list, the newest first."""
    return page(
        "index.html",
        LIST_SCRIPTS,
        LIST_STYLES,
        made_from,
        roasts=list(reversed(rows)),
        methods=sorted({row.method for row in rows}),
        states=sorted({row.state for row in rows}),
    )
