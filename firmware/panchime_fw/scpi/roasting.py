"""The plan as a program (SCPI-1999 volume 2, chapter 13), marks, and the roast as it goes on."""

from .. import events, faults, notices, roast, stages
from ..amplifier.reading import COLD_UNKNOWN
from ..guide import NO_GUIDE
from ..plan_store import PlanError
from ..trips import trip_words
from ..units import decimal
from . import errors
from .errors import ScpiError
from .measuring import NOT_A_NUMBER

EVENTS_A_CALL = 8


def define(device, parameters):
    if device.session.roast.running:
        raise ScpiError(errors.PROGRAM_RUNNING, "stop the roast before sending a plan")
    try:
        device.take_plan(parameters[0])
    except PlanError as error:
        raise ScpiError(error.number, error.words)


def define_query(device, parameters):
    return device.block(device.plan_block())


def run_state(device, parameters):
    session = device.session
    if parameters[0] == "RUN":
        now_ms = device.now_ms()
        why_not = session.why_not_start(now_ms)
        if why_not:
            raise ScpiError(errors.SETTINGS_CONFLICT, why_not)
        session.start(now_ms)
    elif parameters[0] == "STOP":
        session.stop(device.now_ms(), events.STOPPED_OVER_LINK)
    else:
        raise ScpiError(errors.ILLEGAL_VALUE, "RUN or STOP")


def run_state_query(device, parameters):
    return "RUN" if device.session.roast.running else "STOP"


def mark(device, parameters):
    session = device.session
    name = parameters[0]
    if name not in session.plan.marks:
        raise ScpiError(errors.ILLEGAL_VALUE, "this plan's marks are: " + ", ".join(session.plan.marks))
    now_ms = device.now_ms()
    if session.mark(session.plan.marks.index(name), roast.LINK, now_ms, now_ms) == roast.REFUSED:
        raise ScpiError(errors.SETTINGS_CONFLICT, "no roast runs, or that mark or a later one is made")


def mark_back(device, parameters):
    if device.session.take_back(device.now_ms()) < 0:
        raise ScpiError(errors.SETTINGS_CONFLICT, "no mark is made")


def marks_query(device, parameters):
    session = device.session
    rows = []
    for index, name in enumerate(session.plan.marks):
        t_ms = session.roast.mark_ms[index]
        if t_ms >= 0:
            rows.append('"%s",%d,%d' % (_escaped(name), t_ms, session.roast.source(index)))
    return ",".join(rows)


def live_query(device, parameters):
    session = device.session
    now_ms = device.now_ms()
    sample = session.sample
    good = sample.fault == faults.NONE
    return "%d,%s,%d,%s,%s,%s,%d,%d,%d,%d,%d" % (
        device.uptime_ms(),
        stages.NAMES[session.stage],
        session.roast.t_ms(now_ms) if session.roast.running else 0,
        decimal(session.measured_centi) if good else NOT_A_NUMBER,
        NOT_A_NUMBER if sample.cold_centi == COLD_UNKNOWN else decimal(sample.cold_centi),
        decimal(session.rate.centi_per_min) if session.rate.ready and good else NOT_A_NUMBER,
        1 if session.relay_closed else 0,
        sample.fault,
        session.cutoff.reason,
        session.events.last,
        session.log_number,
    )


def guide_query(device, parameters):
    session = device.session
    off_centi = session.voice.off_centi
    if session.roast.stage != stages.ROASTING or off_centi == NO_GUIDE:
        return "%s,%s,0" % (NOT_A_NUMBER, NOT_A_NUMBER)
    return "%s,%s,%d" % (decimal(session.lag.compensated_centi - off_centi), decimal(off_centi), session.voice.steps)


def events_query(device, parameters):
    ring = device.session.events
    number = max(parameters[0] + 1, ring.oldest())
    rows: list = []
    while number <= ring.last and len(rows) < EVENTS_A_CALL:
        t_ms, kind, a, b, c = ring.get(number)
        rows.append('%d,%d,"%s","%s"' % (
            number, t_ms, events.NAMES[kind], _escaped(_event_words(device.session.plan, kind, a, b, c))))
        number += 1
    return ",".join(rows)


def _event_words(plan, kind, a, b, c) -> str:
    if kind == events.MARK:
        return "%s (%s)" % (plan.marks[a], events.SOURCE_NAMES[b]) if a < len(plan.marks) else "mark %d" % a
    if kind == events.MARK_BACK:
        return plan.marks[a] if a < len(plan.marks) else "mark %d" % a
    if kind == events.MILESTONE:
        label = plan.milestones[a].label if a < len(plan.milestones) else "milestone %d" % a
        return label if b == events.SOUNDED else label + " (missed)"
    if kind == events.RELAY:
        return "closed" if a else "open"
    if kind == events.STAGE:
        return stages.NAMES[a]
    if kind == events.FAULT:
        return faults.NAMES[a]
    if kind == events.TRIP:
        return trip_words(a, b, c)
    if kind == events.NOTICE:
        return notices.NAMES[a]
    return ""


def _escaped(text: str) -> str:
    return device_ascii(text).replace('"', '""')


def device_ascii(text: str) -> str:
    """Letters beyond ASCII as \\uXXXX, so that an answer stays one line of ASCII."""
    return "".join(letter if 32 <= ord(letter) < 127 else "\\u%04x" % (ord(letter) & 0xFFFF) for letter in text)


TABLE = (
    ("PROGram[:SELected]:DEFine", define, "k", "send a plan: 8 hex digits of CRC-32, then JSON, as a block"),
    ("PROGram[:SELected]:DEFine?", define_query, "", "the plan on the board, in the same form"),
    ("PROGram[:SELected]:STATe", run_state, "w", "RUN starts a roast as the button does, STOP ends it"),
    ("PROGram[:SELected]:STATe?", run_state_query, "", ""),
    ("MARK[:MAKE]", mark, "s", "make a mark of the plan now"),
    ("MARK:UNDO", mark_back, "", "take the last mark back"),
    ("MARK:CATalog?", marks_query, "", "name, milliseconds and source (0 pressed, 1 found, 2 link) of each mark"),
    ("ROASt:LIVE?", live_query, "",
     "uptime ms, stage, roast ms, degC, cold junction, degC a minute, relay, fault, trip, last event, roast number"),
    ("ROASt:GUIDe?", guide_query, "",
     "the guide's degC now, degC above it, and -2 to 2 as it sounds: much cooler to much hotter in a minute, 0 in the band"),
    ("ROASt:EVENts?", events_query, "i", "events after a number: number, roast ms, what, words"),
)  # fmt: skip
