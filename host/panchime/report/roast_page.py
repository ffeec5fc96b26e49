"""The page of one roast."""

from typing import Any

from markupsafe import Markup

from panchime.journal.story import Story
from panchime.journal.when import UNKNOWN, When
from panchime.report.figure import Line, Panel, Tag, drawing
from panchime.report.in_words import sentences
from panchime.report.page import CHART_SCRIPTS, CHART_STYLES, json_for_page, page
from panchime.report.payload import page_data, roast_payload
from panchime.report.sections import capital, sections_of, troubles
from panchime.report.view import RoastReport, Shown
from panchime.report.written import written_down
from panchime.terminal.trip_telling import told_briefly
from panchime.terminal.words import clock, when
from panchime_fw.events import DONE, END_NAMES

LEGEND = {"reading": "the reading", "guide": "guide curve of the plan", "rate": "rate of rise (smoothed)"}


def roast_page(report: RoastReport, shown: Shown, made_from: str, index: str = "") -> str:
    """The HTML. ``index``: the file name of the list it belongs to, whose scripts it shares; without one it holds all."""
    story = report.account.story
    drawn = bool(story.t_ms)
    payload = roast_payload(report, shown) if drawn else None
    told = sentences(report, shown)
    names = panel_names(shown)
    return page(
        "roast.html",
        CHART_SCRIPTS if drawn else (),
        CHART_STYLES,
        made_from,
        shared=bool(index),
        title=f"Roast {report.entry.number}: {story.plan_name}",
        heading=heading(report, story),
        index=index,
        trouble=trouble_heading(story),
        troubles=troubles(report, shown),
        sentences=told,
        payload=json_for_page(page_data(payload)) if payload is not None else "",
        panel_names=[names[0], f"{names[1]}, over minutes since {report.since}"],
        legend=legend_of(payload) if payload is not None else [],
        figure=drawn_figure(payload, report, shown, " ".join(told)) if payload is not None else "",
        has_relay=bool(story.relay),
        has_faults=bool(story.faults),
        written=written_down(report.account.record, shown),
        sections=sections_of(report, shown),
    )


def trouble_heading(story: Story) -> str:
    """What stands above the troubles."""
    return capital(told_briefly(story.plan)) if story.trips else "Not everything went right"


def panel_names(shown: Shown) -> list[str]:
    """The titles of the two plots."""
    return [f"Temperature, °{shown.unit}", f"Rate of rise, °{shown.unit} a minute"]


def legend_of(payload: dict[str, Any]) -> list[tuple[str, str]]:
    """The style of every line and what it is."""
    return [(line["role"], LEGEND[line["role"]]) for panel in payload["panels"] for line in panel["lines"]]


def drawn_figure(payload: dict[str, Any], report: RoastReport, shown: Shown, says: str) -> Markup:
    """The drawing for paper, from a minute before beans in to a minute after beans out; ``says`` is it all in words."""
    names = panel_names(shown)
    steps = (100, 20) if shown.fahrenheit else (50, 10)
    panels = [
        Panel(name, [Line(payload["t_ms"], line["values"], line["role"]) for line in panel["lines"]], step)
        for name, step, panel in zip(names, steps, payload["panels"], strict=True)
    ]
    tags = [Tag(flag["letter"], flag["t_ms"], flag["kind"]) for flag in payload["flags"]]
    first, last = int(payload["t_ms"][0]), int(payload["t_ms"][-1])
    begin, end = max(first, -60_000), min(last, payload["end_ms"] + 60_000)
    return drawing(panels, tags, begin, end, f"minutes since {report.since}", says)


def dated(value: When) -> str:
    """When a roast was, as a sentence begins."""
    return "At an unknown time" if value.kind == UNKNOWN else when(value)


def heading(report: RoastReport, story: Story) -> list[str]:
    """Which roast this is."""
    state = report.entry.state
    if story.end_reason and story.end_reason != END_NAMES[DONE]:
        state += f", {story.end_reason}"
    length = f"log of {clock(story.end_ms)}"
    if story.roast_ms is not None:
        length = f"{clock(story.roast_ms)} from beans in to beans out"
    return [
        f"{dated(report.when)}. {story.method}. {length}. {state}.",
        f"Board {story.board_serial}, firmware {story.firmware}.",
    ]
