"""What happened in a roast, told from its log: marks, milestones, relay, trips, faults, stages, rate of rise.

Every text in a log's head came over a wire and is data: nothing here believes its type, and none of it is
printed unmade safe.
"""

from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from functools import cached_property
from typing import Any

from panchime.errors import PanchimeError
from panchime.journal.head import unit_of
from panchime_fw import events, faults, logformat, logreader, trips
from panchime_fw.mark_names import BEANS_IN, BEANS_OUT, DEFAULT_MARKS, FIRST_CRACK
from panchime_fw.signal import RATE_WINDOW_MS, RateOfRise, SpikeFilter

YELLOW = "yellow"
NEAR_MS = 1000  # a sample this near a moment tells its temperature
WRITTEN_DOWN = 255  # no board's: a mark of a roast that was logged by hand
SOURCE_WORDS = {events.PRESSED: "pressed", events.FOUND: "found", events.LINK: "sent", WRITTEN_DOWN: "written down"}
TURNING_WITHIN_MS = 300_000  # the reading turns within one to two minutes (common practice, no source)


class HeadLost(PanchimeError):
    """The log's head cannot be read: which roast it is, nobody can say."""


@dataclass(frozen=True)
class Mark:
    """A mark that was made and not taken back.

    ``recorded_ms``: when the board had it, where a person corrected it. ``noted_ms``: when the board took it, later than
    ``t_ms``, since a press is certain only after a while; None for marks that no board took.
    """

    name: str
    t_ms: int
    source: str
    temperature_centi: int | None
    recorded_ms: int | None = None
    noted_ms: int | None = None


@dataclass(frozen=True)
class MilestoneHit:
    """A milestone that came due; ``sounded`` is False when something more urgent was sounding."""

    label: str
    sound: str
    t_ms: int
    sounded: bool
    temperature_centi: int | None


@dataclass(frozen=True)
class RelayChange:
    """The relay closed or opened."""

    t_ms: int
    closed: bool


@dataclass(frozen=True)
class Trip:
    """A trip: why, and the reading and limit when they are known."""

    t_ms: int
    reason: int
    words: str
    advice: str
    reading_centi: int | None
    limit_centi: int | None


@dataclass(frozen=True)
class FaultSpan:
    """The probe could not be read from ``from_ms`` to ``to_ms``."""

    from_ms: int
    to_ms: int
    fault: int
    words: str


@dataclass(frozen=True)
class Portion:
    """A stage between two marks, and its share of the whole from beans in to beans out, None when not known."""

    name: str
    from_mark: str
    to_mark: str
    from_ms: int
    to_ms: int
    share: float | None


@dataclass
class Story:
    """One roast. Times are ms since its start; lists of samples have equal length."""

    board_serial: str
    board_model: str
    firmware: str
    boot: int
    uptime_ms: int
    head_utc_ms: int | None
    plan: dict[str, Any]
    plan_name: str
    method: str
    unit: str
    t_ms: list[int]
    temperature_centi: list[int]
    cold_centi: list[int | None]
    no_reading: list[tuple[int, int]]
    marks: list[Mark] = field(default_factory=list)
    struck_marks: list[Mark] = field(default_factory=list)  # recorded, and struck out by the person
    milestones: list[MilestoneHit] = field(default_factory=list)
    relay: list[RelayChange] = field(default_factory=list)
    trips: list[Trip] = field(default_factory=list)
    faults: list[FaultSpan] = field(default_factory=list)
    lost: list[str] = field(default_factory=list)
    end_reason: str | None = None
    end_ms: int = 0
    problems: list[str] = field(default_factory=list)

    def mark(self, name: str) -> Mark | None:
        """The mark of that name, None when it was not made."""
        return next((mark for mark in self.marks if mark.name == name), None)

    @cached_property
    def rate_centi_per_min(self) -> list[int | None]:
        """The board's own rate of rise at each sample. Worked out when first asked for: it takes longer than all the rest."""
        return rates(self)

    @property
    def roast_ms(self) -> int | None:
        """From beans in to beans out, None when one of them was not marked."""
        beans_in, beans_out = self.mark(BEANS_IN), self.mark(BEANS_OUT)
        return beans_out.t_ms - beans_in.t_ms if beans_in and beans_out else None

    @property
    def turning_ms(self) -> int | None:
        """When the reading was lowest after beans in: from there on the probe shows the beans, no longer the pan.

        None without the mark beans in. Sought until the next mark, five minutes at most.
        """
        beans_in = self.mark(BEANS_IN)
        if beans_in is None:
            return None
        later = [mark.t_ms for mark in self.marks if mark.t_ms > beans_in.t_ms]
        until = min([*later, beans_in.t_ms + TURNING_WITHIN_MS])
        first, last = bisect_left(self.t_ms, beans_in.t_ms), bisect_left(self.t_ms, until)
        lowest = min(range(first, last), key=lambda i: self.temperature_centi[i], default=None)
        return None if lowest is None else self.t_ms[lowest]

    @property
    def peak_centi(self) -> int | None:
        """The highest reading of the beans: after the turning, or of the whole log when beans in was not marked."""
        turning = self.turning_ms
        first = 0 if turning is None else bisect_left(self.t_ms, turning)
        return max(self.temperature_centi[first:], default=None)

    @property
    def portions(self) -> list[Portion]:
        """Drying, browning and development, as far as the marks allow."""
        whole = self.roast_ms
        found = []
        borders = [("drying", BEANS_IN, YELLOW), ("browning", YELLOW, FIRST_CRACK)]
        if self.mark(YELLOW) is None:
            borders = [("drying and browning", BEANS_IN, FIRST_CRACK)]
        for name, begin, end in [*borders, ("development", FIRST_CRACK, BEANS_OUT)]:
            first, last = self.mark(begin), self.mark(end)
            if first and last:
                share = (last.t_ms - first.t_ms) / whole if whole else None
                found.append(Portion(name, begin, end, first.t_ms, last.t_ms, share))
        return found

    @property
    def closed_spans(self) -> list[tuple[int, int]]:
        """When the relay was closed: from and to, ms; until the end of the log when it never opened again."""
        spans = []
        begin = None
        for change in self.relay:
            if change.closed and begin is None:
                begin = change.t_ms
            elif not change.closed and begin is not None:
                spans.append((begin, change.t_ms))
                begin = None
        if begin is not None:
            spans.append((begin, self.end_ms))
        return spans

    def temperature_at(self, t_ms: int) -> int | None:
        """The reading nearest to a moment, None when there is none within a second."""
        index = bisect_left(self.t_ms, t_ms)
        near = [i for i in (index - 1, index) if 0 <= i < len(self.t_ms)]
        best = min(near, key=lambda i: abs(self.t_ms[i] - t_ms), default=None)
        if best is None or abs(self.t_ms[best] - t_ms) > NEAR_MS:
            return None
        return self.temperature_centi[best]


def tell(raw: bytes, decode: Callable[[bytes], logreader.Log] = logreader.decode) -> Story:
    """The story in a log's raw bytes, read by ``decode``. Raises HeadLost when nothing says which roast it is."""
    log = decode(raw)
    head = log.head
    problems = [f"byte {offset}: {sentence}" for offset, sentence in log.problems]
    if head is None:
        raise HeadLost("; ".join(problems) or "the log has no head")
    board, boot, uptime_ms = head.get("board"), head.get("boot"), head.get("uptime_ms")
    if not (isinstance(board, str) and board and isinstance(boot, int) and isinstance(uptime_ms, int)):
        raise HeadLost("the log's head does not say of which board, boot and uptime the roast is")
    plan = head.get("plan")
    document: dict[str, Any] = plan if isinstance(plan, dict) else {}
    head_utc_ms = None
    if head.get("utc") is not None:
        head_utc_ms = utc_of(head["utc"])
        if head_utc_ms is None:
            problems.append("the head's date cannot be read")
    story = Story(
        board_serial=board,
        board_model=text_of(head.get("model"), "unknown"),
        firmware=text_of(head.get("firmware"), "unknown"),
        boot=boot,
        uptime_ms=uptime_ms,
        head_utc_ms=head_utc_ms,
        plan=document,
        plan_name=text_of(document.get("name"), "no name"),
        method=text_of(document.get("method"), "unknown"),
        unit=unit_of(document),
        t_ms=log.t_ms,
        temperature_centi=log.temperature_centi,
        cold_centi=log.cold_centi,
        no_reading=log.no_reading,
        problems=problems,
    )
    last_slots = [*log.t_ms[-1:], *(t_ms for t_ms, _ in log.no_reading[-1:]), *(event[0] for event in log.events[-1:])]
    story.end_ms = log.end[0] if log.end else max(last_slots, default=0)
    if log.end:
        story.end_reason = name_of(events.END_NAMES, log.end[1], "end reason")
    tell_events(log, story)
    story.faults = fault_spans(log)
    return story


def tell_events(log: logreader.Log, story: Story) -> None:
    """Fills the story's marks, milestones, relay changes, trips and losses from the log's events."""
    names = mark_names(story.plan)
    made: dict[int, Mark] = {}
    waiting: dict[int, int] = {}  # milestone -> its place in the story, while it may still be lost
    for t_ms, kind, a, b, c in log.events:
        if kind == events.MARK:
            source = SOURCE_WORDS.get(b, f"source {b}")
            made[a] = Mark(name_of(names, a, "mark"), c, source, story.temperature_at(c), noted_ms=t_ms)
        elif kind == events.MARK_BACK:
            made.pop(a, None)
            waiting.clear()  # what hung on the mark may come due anew
        elif kind == events.MILESTONE:
            label, sound = milestone_words(story.plan, a)
            if b != events.SOUNDED and a in waiting:
                # It came due once, waited its turn, and was lost: docs/log-format.md, event 3.
                place = waiting.pop(a)
                story.milestones[place] = replace(story.milestones[place], sounded=False)
                continue
            hit = MilestoneHit(label, sound, t_ms, b == events.SOUNDED, story.temperature_at(t_ms))
            if hit.sounded:
                waiting[a] = len(story.milestones)
            story.milestones.append(hit)
        elif kind == events.RELAY:
            story.relay.append(RelayChange(t_ms, a != 0))
        elif kind == events.TRIP:
            words = trips.NAMES.get(a, f"trip {a}")
            reading, limit = known(b), known(c)
            story.trips.append(Trip(t_ms, a, words, trips.ADVICE.get(a, ""), reading, limit))
        elif kind == events.GAP:
            story.lost.append(f"{a} samples and {b} events could not be written in time, the first at {c // 1000} s")
    story.marks = [mark for _, mark in sorted(made.items(), key=lambda item: (item[1].t_ms, item[0]))]


def fault_spans(log: logreader.Log) -> list[FaultSpan]:
    """The slots without a reading, neighbours of the same fault taken together."""
    spans: list[FaultSpan] = []
    for t_ms, fault in log.no_reading:
        last = spans[-1] if spans else None
        if last and last.fault == fault and t_ms - last.to_ms <= 2 * log.sample_ms:
            spans[-1] = FaultSpan(last.from_ms, t_ms, fault, last.words)
        else:
            spans.append(FaultSpan(t_ms, t_ms, fault, fault_words(fault)))
    return spans


def fault_words(fault: int) -> str:
    """The name of a fault by its number."""
    return faults.NAMES.get(fault, f"fault {fault}")


def rates(story: Story) -> list[int | None]:
    """The rate of rise at each sample as the board worked it out: same filter, same window, begun anew at beans in."""
    spikes, rate = SpikeFilter(), RateOfRise(RATE_WINDOW_MS)
    beans_in = story.mark(BEANS_IN)
    restart_ms = beans_in.t_ms if beans_in else None
    found: list[int | None] = []
    for t_ms, centi in zip(story.t_ms, story.temperature_centi, strict=True):
        if restart_ms is not None and t_ms >= restart_ms:
            rate.reset()
            restart_ms = None
        rate.add(t_ms, spikes.add(centi))
        found.append(rate.centi_per_min if rate.ready else None)
    return found


def mark_names(plan: dict[str, Any]) -> list[str]:
    """The names of a plan's marks, the usual ones when it has none."""
    marks = plan.get("marks", DEFAULT_MARKS)
    return [text_of(mark, "mark") for mark in marks] if isinstance(marks, (list, tuple)) else list(DEFAULT_MARKS)


def milestone_words(plan: dict[str, Any], index: int) -> tuple[str, str]:
    """Label and sound of a plan's milestone."""
    items = plan.get("milestone")
    item = items[index] if isinstance(items, list) and index < len(items) else None
    if not isinstance(item, dict):
        return f"milestone {index + 1}", ""
    return text_of(item.get("label"), f"milestone {index + 1}"), text_of(item.get("sound"), "")


def name_of(names: Any, index: int, what: str) -> str:
    """The name at an index, or ``what`` and its number when the list is too short."""
    return str(names[index]) if index < len(names) else f"{what} {index + 1}"


def text_of(value: Any, otherwise: str) -> str:
    """A value of the head that ought to be text."""
    return value if isinstance(value, str) and value else otherwise


def known(centi: int) -> int | None:
    """A temperature of an event, None when the event says that there was no such reading."""
    return None if centi == logformat.UNKNOWN_CENTI else centi


def utc_of(value: Any) -> int | None:
    """ISO 8601 text as ms since 1970 UTC, None when it is none. A time without a zone is UTC, as the board keeps it."""
    try:
        moment = datetime.fromisoformat(value)
        return round((moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp() * 1000)
    except (TypeError, ValueError, OverflowError, OSError):
        return None
