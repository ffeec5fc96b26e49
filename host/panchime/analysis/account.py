"""Everything that the analysis finds in one roast."""

from dataclasses import dataclass

from panchime.analysis.bands import Band, heat_above, time_in_bands
from panchime.analysis.degree import DegreeEstimate, estimate_degree, loss_against_degree
from panchime.analysis.rate_changes import RateChange, rate_changes
from panchime.analysis.smoothing import Smoothed, smooth
from panchime.analysis.span import Span, TurningPoint, roast_span, turning_point
from panchime.journal.story import YELLOW, Story
from panchime.records.roast_record import RoastRecord
from panchime_fw.plan import BEANS_OUT, FIRST_CRACK

SECOND_CRACK = "second crack"
FAHRENHEIT_BAND_C = 20 * 5 / 9  # twenty degrees Fahrenheit


@dataclass(frozen=True)
class Account:
    """What happened in a roast. Temperatures in degC, rates in degC/min, times in seconds since the start of the log.

    What the marks or readings do not tell is None. ``development_ms`` and ``development_share``: from first crack to beans out,
    and its part of the time from beans in to beans out. ``loss_verdict``: 0 when weight loss and end temperature agree, -1 when
    the loss says lighter, +1 when it says darker. ``heat_c_min``: degree-minutes since yellow, above ``base_c``.
    """

    story: Story
    record: RoastRecord
    curve: Smoothed
    turning: TurningPoint | None
    span: Span | None
    bands: list[Band]
    base_c: float | None
    heat_c_min: float | None
    changes: list[RateChange]
    development_ms: int | None
    development_share: float | None
    end_c: float | None
    degree: DegreeEstimate | None
    loss: float | None
    loss_verdict: int | None


def account_of(story: Story, record: RoastRecord, *, base_c: float | None = None, fahrenheit: bool = False) -> Account:
    """The account of a story (with the person's corrections in it) and of what the person wrote down.

    ``base_c``: what the heat is counted above, None for the reading at yellow.
    """
    curve = smooth(story)
    turning = turning_point(story, curve)
    span = roast_span(story, turning)
    bands: list[Band] = []
    changes: list[RateChange] = []
    base_c = mark_c(story, YELLOW) if base_c is None else base_c
    if span is not None:
        bands = time_in_bands(curve, span, FAHRENHEIT_BAND_C, -160 / 9) if fahrenheit else time_in_bands(curve, span)
        changes = rate_changes(curve, span)
    development = next((portion for portion in story.portions if portion.from_mark == FIRST_CRACK), None)
    end_c = mark_c(story, BEANS_OUT)
    degree = None if end_c is None else estimate_degree(end_c, mark_c(story, FIRST_CRACK), story.mark(SECOND_CRACK) is not None)
    verdict = None
    if degree is not None and record.loss is not None:
        verdict = loss_against_degree(record.loss, degree)
    return Account(
        story,
        record,
        curve,
        turning,
        span,
        bands,
        base_c,
        heat_since_yellow(story, curve, span, base_c),
        changes,
        development.to_ms - development.from_ms if development else None,
        development.share if development else None,
        end_c,
        degree,
        record.loss,
        verdict,
    )


def heat_since_yellow(story: Story, curve: Smoothed, span: Span | None, base_c: float | None) -> float | None:
    """Degree-minutes from yellow to the end of the roast's span; None without a yellow mark, or a base."""
    yellow = story.mark(YELLOW)
    if span is None or yellow is None or base_c is None:
        return None
    from_s = max(span.from_s, yellow.t_ms / 1000)
    return heat_above(curve, Span(from_s, span.to_s), base_c) if from_s < span.to_s else None


def mark_c(story: Story, name: str) -> float | None:
    """The reading at a mark in degC, None when there is none."""
    mark = story.mark(name)
    return None if mark is None or mark.temperature_centi is None else mark.temperature_centi / 100
