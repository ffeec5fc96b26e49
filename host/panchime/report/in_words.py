"""A roast told in a few sentences."""

from panchime.analysis.rate_changes import STALL
from panchime.report.sections import centi_c, percent
from panchime.report.view import RoastReport, Shown
from panchime.terminal.words import clock
from panchime_fw.plan import BEANS_IN, BEANS_OUT


def sentences(report: RoastReport, shown: Shown) -> list[str]:
    """What happened, in the order in which it happened."""
    account = report.account
    story = account.story
    told = []
    beans_in, beans_out = story.mark(BEANS_IN), story.mark(BEANS_OUT)
    if not story.t_ms:
        return ["The log holds no readings."]
    if beans_in is None:
        told.append(f"Beans in was not marked; the log is {clock(story.end_ms)} long.")
    elif beans_in.temperature_centi is not None:
        told.append(f"Beans went in with the probe at {shown.degrees(beans_in.temperature_centi / 100, 0)}.")
    if account.turning is not None:
        after = clock(round(account.turning.after_s * 1000))
        told.append(f"The reading turned {after} later at {shown.degrees(account.turning.temperature_c, 0)}.")
    between = [mark for mark in story.marks if mark not in (beans_in, beans_out)]
    if between:
        named = [
            f"{mark.name} at {clock(mark.t_ms - report.zero_ms)} ({shown.degrees(centi_c(mark.temperature_centi), 0)})"
            for mark in between
        ]
        told.append(f"You marked {', '.join(named)}.")
    for change in account.changes:
        what = "stalled" if change.kind == STALL else "jumped up"
        told.append(f"The rate of rise {what} at {clock(round(change.from_s * 1000) - report.zero_ms)}.")
    if account.development_share is not None:
        told.append(f"Development took {clock(account.development_ms)}, {percent(account.development_share)} of the roast.")
    if beans_out is not None and beans_in is not None:
        out = f"Beans came out after {clock(beans_out.t_ms - beans_in.t_ms)}"
        if account.end_c is not None:
            out += f" at {shown.degrees(account.end_c)}"
        if account.degree is not None:
            out += f": {account.degree.likely.name}, by the temperature"
        told.append(f"{out}.")
    elif beans_in is not None:
        told.append("Beans out was not marked.")
    return told
