"""The page of one roast."""

from panchime.journal.story import Story
from panchime.journal.when import UNKNOWN, When
from panchime.report.figure import Line, Panel, Tag, drawing
from panchime.report.in_words import sentences
from panchime.report.page import CHART_SCRIPTS, CHART_STYLES, asset, json_for_page, page
from panchime.report.payload import roast_payload
from panchime.report.sections import sections_of, troubles
from panchime.report.view import RoastReport, Shown
from panchime.report.written import written_down
from panchime.terminal.words import clock, when
from panchime_fw.events import DONE, END_NAMES

LEGEND = {"reading": "the reading", "guide": "guide curve of the plan", "rate": "rate of rise (smoothed)"}


def roast_page(report: RoastReport, shown: Shown, made_from: str, index: str = "") -> str:
    """The HTML. ``index`` is the file name of the list it belongs to, if any."""
    story = report.account.story
    drawn = bool(story.t_ms)
    payload = roast_payload(report, shown) if drawn else None
    told = sentences(report, shown)
    names = [f"Temperature, °{shown.unit}", f"Rate of rise, °{shown.unit} a minute"]
    figure, legend = "", []
    if payload is not None:
        lines = [
            Line(payload["t_ms"], line["values"], line["role"]) for panel in payload["panels"] for line in panel["lines"]
        ]
        legend = [(line.style, LEGEND[line.style]) for line in lines]
        panels = [
            Panel(names[0], lines[:-1], 100 if shown.fahrenheit else 50),
            Panel(names[1], lines[-1:], 20 if shown.fahrenheit else 10),
        ]
        tags = [Tag(flag["letter"], flag["t_ms"], flag["kind"]) for flag in payload["flags"]]
        begin, end = max(payload["t_ms"][0], -60_000), min(payload["t_ms"][-1], payload["end_ms"] + 60_000)
        figure = drawing(panels, tags, begin, end, f"minutes since {report.since}", " ".join(told))
    return page(
        "roast.html",
        CHART_SCRIPTS if drawn else (),
        CHART_STYLES,
        made_from,
        title=f"Roast {report.entry.number}: {story.plan_name}",
        heading=heading(report, story),
        index=index,
        tripped=bool(story.trips),
        troubles=troubles(report, shown),
        sentences=told,
        payload=json_for_page(payload) if payload is not None else "",
        panel_names=[*names[:1], f"{names[1]}, over minutes since {report.since}"],
        legend=legend,
        figure=figure,
        has_relay=bool(story.relay),
        has_faults=bool(story.faults),
        written=written_down(report.account.record, shown),
        sections=sections_of(report, shown),
        licence=asset("vendor/uplot/LICENSE"),
    )


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
