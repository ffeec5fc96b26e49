"""The tables of a roast's page."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from panchime.analysis.day_effect import DayEffect
from panchime.analysis.degree import PROBE_SPREAD_C, groups_of_loss
from panchime.analysis.rate_changes import STALL
from panchime.journal.story import Portion
from panchime.report.view import RoastReport, Shown
from panchime.terminal.roast_screen import MARK_LETTERS, MILESTONE_LETTERS
from panchime.terminal.trip_telling import advice_then, told_at
from panchime.terminal.words import NOTHING, clock, share
from panchime_fw.plan import BEANS_IN, BEANS_OUT

VERDICTS = {
    0: "Weight loss and end temperature agree.",
    -1: "The weight loss says a lighter roast than the end temperature: check the scales, the probe's place, its calibration.",
    1: "The weight loss says a darker roast than the end temperature: check the scales, the probe's place, its calibration.",
}


@dataclass(frozen=True)
class Section:
    """A titled table. ``right`` names the headings whose columns are numbers; ``notes`` are lines below it.

    ``bars``: for each row a part of 1, drawn as a bar after the last column; empty for none.
    """

    title: str
    headings: Sequence[str]
    rows: Sequence[Sequence[str]]
    right: frozenset[str] = frozenset()
    notes: Sequence[str] = ()
    bars: Sequence[float] = ()


def sections_of(report: RoastReport, shown: Shown) -> list[Section]:
    """Every table that has something to say."""
    found = [
        marks(report, shown),
        stages(report, shown),
        milestones(report, shown),
        figures(report, shown),
        bands(report, shown),
        rate_changes(report, shown),
        degree(report, shown),
        day(report, shown),
        relay(report, shown),
    ]
    return [section for section in found if section.rows or section.notes]


def marks(report: RoastReport, shown: Shown) -> Section:
    """The marks, their letters on the curve, and what the board recorded where the person corrected it."""
    story = report.account.story
    rows = []
    notes = []
    for letter, mark in zip(MARK_LETTERS, story.marks, strict=False):
        since = clock(mark.t_ms - report.zero_ms)
        rows.append((letter, mark.name, since, shown.degrees(centi_c(mark.temperature_centi)), mark.source))
        if mark.recorded_ms is not None:
            notes.append(f"{mark.name}: the board recorded {clock(mark.recorded_ms - report.zero_ms)}.")
    notes += [f"{mark.name} at {clock(mark.t_ms - report.zero_ms)} was struck out." for mark in story.struck_marks]
    return Section("Marks", ("", "mark", "time", "reading", "made by"), rows, frozenset({"time", "reading"}), notes)


def stages(report: RoastReport, shown: Shown) -> Section:
    """Drying, browning, development: time, share, and how far the temperature rose."""
    curve = report.account.curve

    def ends_c(portion: Portion) -> tuple[float | None, float | None]:
        return curve.temperature_at(portion.from_ms / 1000), curve.temperature_at(portion.to_ms / 1000)

    return stages_by(report, shown, ends_c)


def stages_by(report: RoastReport, shown: Shown, ends_c: Callable[[Portion], tuple[float | None, float | None]]) -> Section:
    """The stages, with the temperatures (degC) at the ends of each as ``ends_c`` finds them."""
    rows = []
    for portion in report.account.story.portions:
        begin, end = ends_c(portion)
        rise = NOTHING
        if begin is not None and end is not None and portion.from_mark != BEANS_IN:
            rise = shown.apart(end - begin, 0, "+")
        rows.append((portion.name, clock(portion.to_ms - portion.from_ms), share(portion.share), rise))
    headings = ("stage", "time", "share", "rise")
    return Section("Stages", headings, rows, frozenset({"time", "share", "rise"}))


def milestones(report: RoastReport, shown: Shown) -> Section:
    """The milestones that came due and their letters on the curve."""
    rows = []
    for letter, hit in zip(MILESTONE_LETTERS, report.account.story.milestones, strict=False):
        sound = hit.sound if hit.sounded else "silent: something more urgent sounded"
        since = clock(hit.t_ms - report.zero_ms)
        rows.append((letter, f"{hit.label}\n{sound}", since, shown.degrees(centi_c(hit.temperature_centi))))
    return Section("Milestones", ("", "milestone and sound", "time", "reading"), rows, frozenset({"time", "reading"}))


def figures(report: RoastReport, shown: Shown) -> Section:
    """What the curve says in single numbers."""
    account = report.account
    rows = []
    if account.turning is not None:
        turned = f"{shown.degrees(account.turning.temperature_c)} after {clock(round(account.turning.after_s * 1000))}"
        rows.append(("turning point", turned))
    if account.development_ms is not None:
        rows.append(("development", f"{clock(account.development_ms)}, {percent(account.development_share)} of the roast"))
    if account.heat_c_min is not None:
        minutes = f"{shown.difference(account.heat_c_min):.0f} above {shown.degrees(account.base_c, 0)}"
        rows.append(("heat since yellow, degree-minutes", minutes))
    for words, celsius in (("reading at beans out", account.end_c), ("highest reading of the beans", peak_c(report))):
        if celsius is not None:
            rows.append((words, shown.degrees(celsius)))
    if account.curve.noise_c:
        rows.append(("scatter of the readings", f"±{shown.apart(account.curve.noise_c, 2)} about the curve"))
    return Section("The curve in figures", ("", "value"), rows)


def bands(report: RoastReport, shown: Shown) -> Section:
    """The time spent in every band of degrees."""
    found = report.account.bands
    longest = max((band.seconds for band in found), default=0.0)
    rows = [
        (f"{shown.value(band.low_c):.0f} to {shown.value(band.high_c):.0f} °{shown.unit}", clock(round(band.seconds * 1000)))
        for band in found
    ]
    bars = [band.seconds / longest for band in found] if longest else []
    begin = "the turning point" if report.account.turning else "beans in"
    notes = [f"From {begin} to beans out, on the smoothed curve."] if rows else []
    return Section("Time in each band", ("band", "time"), rows, frozenset({"time"}), notes, bars)


def rate_changes(report: RoastReport, shown: Shown) -> Section:
    """Stalls and sudden rises."""
    rows = []
    for change in report.account.changes:
        begin = clock(round(change.from_s * 1000) - report.zero_ms)
        lasted = f"{change.to_s - change.from_s:.0f} s"
        if change.kind == STALL:
            words = f"lowest {shown.rate(change.to_rate)}"
        else:
            words = f"from {shown.rate(change.from_rate)} to {shown.rate(change.to_rate)}"
        rows.append((change.kind, begin, lasted, words))
    notes = []
    if not rows and report.account.span is not None and not report.account.story.trips:
        notes = ["The rate neither stalled nor rose suddenly."]
    return Section("Stalls and sudden rises", ("", "from", "for", "rate of rise"), rows, frozenset({"from", "for"}), notes)


def degree(report: RoastReport, shown: Shown) -> Section:
    """The roast degree, by temperature, by weight, by the person's word."""
    account = report.account
    rows = []
    notes = []
    estimate = account.degree
    if estimate is not None:
        words = estimate.likely.name
        if estimate.lightest is not estimate.darkest:
            words += f" (may be {estimate.lightest.name} to {estimate.darkest.name})"
        rows.append(("by the end temperature", words))
        if estimate.by_first_crack:
            notes.append("Counted from your own first crack, which sources put at 196 to 207 °C.")
        else:
            notes.append(f"What a probe shows varies by about {shown.apart(PROBE_SPREAD_C, 0)} between set-ups.")
        if estimate.by_second_crack:
            notes.append("Second crack was marked: Full City at least.")
    record = account.record
    if account.loss is not None:
        rows.append(("weight loss", f"{account.loss * 100:.1f} %: usual for {' or '.join(groups_of_loss(account.loss))}"))
    if account.loss_verdict is not None:
        notes.append(VERDICTS[account.loss_verdict])
    if record.degree:
        rows.append(("by your own word", record.degree))
    return Section("Roast degree", ("", "degree"), rows, notes=notes)


def day(report: RoastReport, shown: Shown) -> Section:
    """What the day's temperature does to one's own roasts of the same plan."""
    if report.account.story.mark(BEANS_IN) is None or report.account.story.mark(BEANS_OUT) is None:
        return Section("The day", (), ())
    effect = report.day_effect
    rows = []
    if report.day_c is not None:
        said = report.account.record.day_temperature_centi is not None
        source = "by your note" if said else "the board itself at the start"
        rows.append(("the day", f"{shown.degrees(report.day_c, 0)}, {source}"))
    if not isinstance(effect, DayEffect):
        return Section("The day", ("", "value"), rows, notes=[f"Effect of the day: {effect.words}."])
    ten_c = 10.0 / shown.difference(1.0)
    slope, low, high = (round(value * ten_c * 60) for value in (effect.min_per_c, effect.low, effect.high))
    rows.append((f"10 °{shown.unit} warmer", f"{slope:+d} s (95 % sure: {low:+d} to {high:+d} s)"))
    if report.day_c is not None:
        rows.append(("the line says", f"{clock(round(effect.minutes_at(report.day_c) * 60000))} for such a day"))
    days = f"{shown.degrees(effect.coldest_c, 0)} to {shown.degrees(effect.warmest_c, 0)}"
    notes = [f"This and {effect.roasts - 1} earlier roasts of the plan, {days}."]
    if not effect.certain:
        notes.append("The scatter is too wide to tell the effect from chance.")
    return Section("The day", ("", "value"), rows, notes=notes)


def relay(report: RoastReport, shown: Shown) -> Section:
    """Every change of the relay."""
    story = report.account.story
    rows = [
        (
            "closed: heater on" if change.closed else "open: heater off",
            clock(change.t_ms - report.zero_ms),
            shown.degrees(centi_c(story.temperature_at(change.t_ms))),
        )
        for change in story.relay
    ]
    return Section("Relay", ("relay", "time", "reading"), rows, frozenset({"time", "reading"}))


def troubles(report: RoastReport, shown: Shown) -> list[str]:
    """Trips, faults, losses and damage, in words."""
    story = report.account.story
    lines = []
    for trip in story.trips:
        words = f"{capital(told_at(story.plan, clock(trip.t_ms - report.zero_ms)))}: {trip.words}"
        if trip.reading_centi is not None:
            words += f", reading {shown.degrees(trip.reading_centi / 100)}"
        if trip.limit_centi:
            words += f", limit {shown.degrees(trip.limit_centi / 100)}"
        lines.append(f"{words}. {advice_then(story, trip)}")
    for span in story.faults:
        lasted = max(1, round((span.to_ms - span.from_ms) / 1000))
        lines.append(f"No reading from {clock(span.from_ms - report.zero_ms)} on for {lasted} s: {span.words}.")
    lines += [f"Lost: {sentence}." for sentence in story.lost]
    lines += [f"Damaged log, {sentence}." for sentence in story.problems]
    return lines


def capital(words: str) -> str:
    """Words as a sentence begins."""
    return words[:1].upper() + words[1:]


def centi_c(centi: int | None) -> float | None:
    """Hundredths of degC as degC."""
    return None if centi is None else centi / 100


def peak_c(report: RoastReport) -> float | None:
    """The highest reading of the beans in degC."""
    return centi_c(report.account.story.peak_centi)


def percent(part: float | None) -> str:
    """A part in percent to a tenth."""
    return NOTHING if part is None else f"{part * 100:.1f} %"
