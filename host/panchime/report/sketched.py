"""A roast as far as its sketch and the journal's columns tell it: no log is decoded for this."""

from itertools import pairwise

import numpy as np

from panchime.analysis.account import SECOND_CRACK, Account, mark_c
from panchime.analysis.day_effect import NotEnough
from panchime.analysis.degree import estimate_degree, loss_against_degree
from panchime.analysis.sketch import Sketch
from panchime.analysis.smoothing import Floats, Smoothed
from panchime.analysis.span import Span
from panchime.journal.journal import RoastEntry
from panchime.journal.story import Mark, Story
from panchime.records.corrections import corrected
from panchime.records.records import when_of
from panchime.records.roast_record import RoastRecord
from panchime.report.view import RoastReport
from panchime_fw.plan import BEANS_IN, BEANS_OUT, FIRST_CRACK

GRID_S = 5.0
HALF_WINDOW = 4  # grid places on each side: 40 s, near the 45 s of the whole analysis
LONGEST_GAP_S = 15.0  # between two readings of a sketch; a longer one is a gap of the log
_PLACES = np.arange(-HALF_WINDOW, HALF_WINDOW + 1)
SLOPE = _PLACES[::-1] / (np.sum(_PLACES**2) * GRID_S) * 60.0  # least squares; turned round, as a convolution takes it


def sketched_report(entry: RoastEntry, record: RoastRecord, drawn: Sketch, told: Story | None = None) -> RoastReport:
    """A report of marks, stages, end and degree. Readings and rate are those of the sketch, one about every five seconds.

    ``told``: the roast's whole story where it is at hand; trips and faults are then in the report, too.
    """
    story = sketched_story(entry, record, drawn)
    if told is not None:
        story.plan, story.trips, story.faults = told.plan, told.trips, told.faults
        story.problems, story.lost = told.problems, told.lost
    beans_in, beans_out = story.mark(BEANS_IN), story.mark(BEANS_OUT)
    span = None
    if beans_in is not None:
        turning_ms = story.turning_ms
        begin_ms = beans_in.t_ms if turning_ms is None else turning_ms
        span = Span(begin_ms / 1000, (beans_out.t_ms if beans_out else story.end_ms) / 1000)
    development = next((portion for portion in story.portions if portion.from_mark == FIRST_CRACK), None)
    end_c = None if entry.end_centi is None else entry.end_centi / 100
    degree = None if end_c is None else estimate_degree(end_c, mark_c(story, FIRST_CRACK), story.mark(SECOND_CRACK) is not None)
    account = Account(
        story=story,
        record=record,
        curve=sketched_curve(story),
        turning=None,
        span=span,
        bands=[],
        base_c=None,
        heat_c_min=None,
        changes=[],
        development_ms=development.to_ms - development.from_ms if development else None,
        development_share=development.share if development else None,
        end_c=end_c,
        degree=degree,
        loss=record.loss,
        loss_verdict=None if degree is None or record.loss is None else loss_against_degree(record.loss, degree),
    )
    return RoastReport(entry, account, when_of(entry, record), None, [], NotEnough(0, ""))


def sketched_story(entry: RoastEntry, record: RoastRecord, drawn: Sketch) -> Story:
    """The story of a roast with the marks of the journal, corrected by the person."""
    story = Story(
        board_serial=entry.board_serial,
        board_model=entry.board_model,
        firmware="",
        boot=entry.boot,
        uptime_ms=entry.uptime_ms,
        head_utc_ms=None,
        plan={},
        plan_name=entry.plan_name,
        method=entry.method,
        unit=entry.unit,
        t_ms=drawn.t_ms,
        temperature_centi=drawn.temperature_centi,
        cold_centi=[],
        no_reading=[],
        end_ms=entry.log_ms,
        problems=list(entry.problems),
    )
    story.marks = [Mark(mark.name, mark.t_ms, mark.source, None) for mark in entry.marks]
    story = corrected(story, record.corrections)
    t_ms, centi = np.array(drawn.t_ms), np.array(drawn.temperature_centi)
    story.marks = [
        Mark(mark.name, mark.t_ms, mark.source, reading_at(entry, mark, t_ms, centi), mark.recorded_ms) for mark in story.marks
    ]
    return story


def reading_at(entry: RoastEntry, mark: Mark, t_ms: Floats, centi: Floats) -> int | None:
    """The reading at a mark: that of the journal at beans out, else between the sketch's two nearest; None in a gap.

    At beans in the reading begins to fall steeply: what counts there is the line of the two readings before it.
    """
    if mark.name == BEANS_OUT and mark.recorded_ms is None:
        return entry.end_centi
    after = int(np.searchsorted(t_ms, mark.t_ms))
    first = after - 2 if mark.name == BEANS_IN and after >= 2 else after - 1
    if not 0 < after < len(t_ms) or t_ms[first + 1] - t_ms[first] > LONGEST_GAP_S * 1000:
        return None
    part = (mark.t_ms - t_ms[first]) / (t_ms[first + 1] - t_ms[first])
    return round(float(centi[first] + part * (centi[first + 1] - centi[first])))


def sketched_curve(story: Story) -> Smoothed:
    """The sketch's readings as they are, and their rate of rise: the slope over 40 s around each, within a stretch."""
    t_s, reading_c = np.array(story.t_ms) / 1000.0, np.array(story.temperature_centi) / 100.0
    rate = np.full(len(t_s), np.nan)
    borders_s = [mark.t_ms / 1000.0 for mark in (story.mark(BEANS_IN), story.mark(BEANS_OUT)) if mark]
    cuts = {*(np.flatnonzero(np.diff(t_s) > LONGEST_GAP_S) + 1).tolist(), *np.searchsorted(t_s, borders_s).tolist()}
    places = sorted({0, *cuts, len(t_s)})
    for first, last in pairwise(places):
        grid = np.arange(t_s[first], t_s[last - 1], GRID_S)
        if len(grid) > 2 * HALF_WINDOW:
            even = np.interp(grid, t_s[first:last], reading_c[first:last])
            slope = np.convolve(even, SLOPE, "valid")
            middle = grid[HALF_WINDOW:-HALF_WINDOW]
            rate[first:last] = np.interp(t_s[first:last], middle, slope, left=np.nan, right=np.nan)
    return Smoothed(t_s, reading_c, reading_c, rate, 0.0, 0.0)
