"""Several roasts laid over one another: alignment, table of differences, repeatability."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from panchime.analysis.repeatability import Aligned, Repeatability, on_grid, repeatability
from panchime.analysis.smoothing import Floats
from panchime.errors import PanchimeError
from panchime.report.sections import Section
from panchime.report.view import RoastReport, Shown
from panchime.terminal.near_words import did_you_mean
from panchime.terminal.words import NOTHING, clock, share
from panchime_fw.plan import BEANS_IN, BEANS_OUT

WEIGHT_LOSS = "weight loss"
BEFORE_S = 30.0  # drawn before the alignment when it is beans in


@dataclass(frozen=True)
class Comparison:
    """Roasts and where each has its zero. ``grid_s``: every second that any of them has, counted from the alignment."""

    reports: Sequence[RoastReport]
    aligned: Sequence[Aligned]
    align: str
    grid_s: Floats
    figures: Repeatability | None

    def temperatures(self, place: int) -> Floats:
        """The smoothed temperature of one roast on the grid, degC; NaN where it has none."""
        return on_grid(self.aligned[place], self.grid_s, self.aligned[place].curve.temperature_c)

    def rates(self, place: int) -> Floats:
        """Its rate of rise, degC/min."""
        values = on_grid(self.aligned[place], self.grid_s, self.aligned[place].curve.rate_c_per_min)
        values[self.grid_s + self.aligned[place].zero_s < self.aligned[place].span.from_s] = np.nan
        return values


def compare(reports: Sequence[RoastReport], align: str = BEANS_IN) -> Comparison:
    """Lays roasts over one another at a mark that all of them have. Raises PanchimeError when one lacks it."""
    aligned = []
    for report in reports:
        mark = report.account.story.mark(align)
        span = report.account.span
        if mark is None or span is None:
            missing = align if mark is None else f"{BEANS_IN} before {BEANS_OUT}"
            names = [mark.name for mark in report.account.story.marks]
            raise PanchimeError(
                f"roast {report.entry.number} has no mark {missing!r}; it has {', '.join(names) or 'none'}: "
                f"name another with --align, or correct its marks{did_you_mean(missing, names)}"
            )
        aligned.append(Aligned(report.account.curve, span, mark.t_ms / 1000.0))
    begin = min(begin_s(report, roast) for report, roast in zip(reports, aligned, strict=True))
    end = max(roast.span.to_s - roast.zero_s for roast in aligned)
    grid = np.arange(np.floor(begin), np.ceil(end) + 1.0)
    return Comparison(reports, aligned, align, grid, repeatability(aligned))


def begin_s(report: RoastReport, roast: Aligned) -> float:
    """Where a roast's curve begins, counted from the alignment: a little before beans in."""
    beans_in = report.account.story.mark(BEANS_IN)
    begin = beans_in.t_ms / 1000.0 if beans_in else roast.span.from_s
    return max(begin - BEFORE_S, float(roast.curve.t_s[0])) - roast.zero_s


def apart_words(comparison: Comparison, shown: Shown) -> str:
    """The repeatability in a sentence."""
    figures = comparison.figures
    if figures is None:
        return "The roasts have no stretch in common after their turning points."
    span = f"from {clock(round(figures.from_s * 1000))} to {clock(round(figures.to_s * 1000))}"
    return (
        f"Between the turning points and the first beans out ({span}, counted from {comparison.align}) the roasts are "
        f"{shown.apart(figures.mean_c)} apart on average and {shown.apart(figures.worst_c)} at worst, "
        f"at {clock(round(figures.worst_at_s * 1000))}."
    )


def differences(comparison: Comparison, shown: Shown) -> Section:
    """The roasts side by side, with what each differs by from the first."""
    first = comparison.reports[0]
    lines = [measures(report) for report in comparison.reports]
    rows = []
    for name in [name for name in measures(first) if any(line[name] is not None for line in lines)]:
        cells = [words(name, line[name], lines[0][name] if place else None, shown) for place, line in enumerate(lines)]
        rows.append((name, *cells))
    headings = ("", *(f"roast {report.entry.number}" for report in comparison.reports))
    notes = [f"In brackets: the difference from roast {first.entry.number}."] if len(lines) > 1 else []
    return Section("Side by side", headings, rows, frozenset(headings[1:]), notes)


def measures(report: RoastReport) -> dict[str, float | None]:
    """What a comparison shows of a roast: times in ms since beans in, temperatures in degC, parts of 1."""
    account = report.account
    story = account.story
    marks = {mark.name: mark for mark in story.marks}
    temperature = {name: mark.temperature_centi for name, mark in marks.items()}
    found: dict[str, float | None] = {"day, temperature": report.day_c}
    begin = temperature.get(BEANS_IN)
    found["beans in, temperature"] = None if begin is None else begin / 100
    found["turning point, time"] = account.turning.after_s * 1000 if account.turning else None
    found["turning point, temperature"] = account.turning.temperature_c if account.turning else None
    for name in ("yellow", "first crack", "second crack", BEANS_OUT):
        mark = marks.get(name)
        found[f"{name}, time"] = mark.t_ms - report.zero_ms if mark else None
        found[f"{name}, temperature"] = mark.temperature_centi / 100 if mark and mark.temperature_centi is not None else None
    found["development, time"] = account.development_ms
    found["development, share of the roast"] = account.development_share
    found["heat since yellow, degree-minutes"] = account.heat_c_min
    found[WEIGHT_LOSS] = account.loss
    return found


def words(name: str, value: float | None, first: float | None, shown: Shown) -> str:
    """A measure in words, and in brackets what it differs by from the first roast's."""
    if value is None:
        return NOTHING
    kind = name.rpartition(", ")[2]
    difference = None if first is None else value - first
    if kind == "time":
        text = clock(round(value))
        more = None if difference is None else f"{difference / 1000:+z.0f} s"
    elif kind == "temperature":
        text = shown.degrees(value)
        more = None if difference is None else f"{shown.difference(difference):+z.1f}"
    elif kind in ("share of the roast", WEIGHT_LOSS):
        text = share(value)
        more = None if difference is None else f"{difference * 100:+z.1f}"
    else:
        text = f"{shown.difference(value):.0f}"
        more = None if difference is None else f"{shown.difference(difference):+z.0f}"
    return text if more is None else f"{text} ({more})"
