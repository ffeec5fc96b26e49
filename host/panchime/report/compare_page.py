"""The page that lays roasts over one another."""

from typing import Any

import numpy as np

from panchime.analysis.smoothing import Floats
from panchime.report.comparing import Comparison, apart_words, differences
from panchime.report.figure import Line, Panel, drawing
from panchime.report.page import CHART_SCRIPTS, CHART_STYLES, json_for_page, page
from panchime.report.payload import page_data
from panchime.report.view import Shown
from panchime.terminal.safe_text import safe_line
from panchime.terminal.words import clock
from panchime_fw.plan import BEANS_OUT

STYLES = 6


def compare_page(comparison: Comparison, shown: Shown, made_from: str) -> str:
    """The HTML."""
    payload = compare_payload(comparison, shown)
    reports = comparison.reports
    names = [f"Temperature, °{shown.unit}", f"Rate of rise, °{shown.unit} a minute"]
    steps = (100, 20) if shown.fahrenheit else (50, 10)
    panels = [
        Panel(
            name,
            [
                Line(payload["t_ms"], line["values"], f"line-{place % STYLES}", line["label"])
                for place, line in enumerate(panel["lines"])
            ],
            step,
        )
        for name, step, panel in zip(names, steps, payload["panels"], strict=True)
    ]
    axis = f"minutes since {comparison.align}"
    apart = apart_words(comparison, shown)
    return page(
        "compare.html",
        CHART_SCRIPTS,
        CHART_STYLES,
        made_from,
        title="Roasts " + ", ".join(str(report.entry.number) for report in reports[:-1]) + f" and {reports[-1].entry.number}",
        align=comparison.align,
        apart=apart,
        payload=json_for_page(page_data(payload)),
        panel_names=[names[0], f"{names[1]}, over {axis}"],
        legend=[(f"line-{place % STYLES}", legend_words(comparison, place)) for place in range(len(reports))],
        figure=drawing(panels, [], int(payload["t_ms"][0]), int(payload["t_ms"][-1]), axis, apart),
        sections=[differences(comparison, shown)],
    )


def legend_words(comparison: Comparison, place: int) -> str:
    """A roast in the legend: its number, its plan, its length."""
    report = comparison.reports[place]
    length = clock(report.account.story.roast_ms)
    return f"roast {report.entry.number}: {report.account.story.plan_name}, {length}"


def compare_payload(comparison: Comparison, shown: Shown) -> dict[str, Any]:
    """What the script draws."""
    numbers = [report.entry.number for report in comparison.reports]

    def lines(values: list[Floats]) -> list[dict[str, Any]]:
        return [
            {"name": f"roast {number}", "label": str(number), "values": array}
            for number, array in zip(numbers, values, strict=True)
        ]

    places = range(len(numbers))
    temperatures = [shown_array(comparison.temperatures(place), shown) for place in places]
    rates = [comparison.rates(place) * shown.difference(1.0) for place in places]
    return {
        "kind": "compare",
        "since": comparison.align,
        "t_ms": np.rint(comparison.grid_s * 1000).astype(np.int64),
        "end_ms": round(float(comparison.grid_s[-1]) * 1000),
        "panels": [
            {"unit": f"°{shown.unit}", "step": 20 if shown.fahrenheit else 10, "lines": lines(temperatures)},
            {"unit": f"°{shown.unit}/min", "step": 10 if shown.fahrenheit else 5, "lines": lines(rates)},
        ],
        "flags": mark_flags(comparison),
        "stages": [],
        "relay": [],
        "faults": [],
    }


def shown_array(celsius: Floats, shown: Shown) -> Floats:
    """Temperatures in the shown unit."""
    return celsius * shown.difference(1.0) + shown.value(0.0)


def mark_flags(comparison: Comparison) -> list[dict[str, Any]]:
    """The marks of all roasts as words for the readout, without letters on the curves."""
    return [
        {
            "letter": f"roast {report.entry.number}:",
            "kind": "words",
            "t_ms": mark.t_ms - round(roast.zero_s * 1000),
            "words": safe_line(mark.name),
        }
        for report, roast in zip(comparison.reports, comparison.aligned, strict=True)
        for mark in report.account.story.marks
        if mark.t_ms <= round(roast.span.to_s * 1000) or mark.name == BEANS_OUT
    ]
