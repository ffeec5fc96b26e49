"""A journal of many invented roasts: those of the virtual kitchen on a few days, written by the board's own encoder."""

import random
import zlib
from collections.abc import Callable
from dataclasses import dataclass, replace

from panchime.journal.journal import Journal
from panchime.journal.story import tell
from panchime.journal.summary import Summary, summarise
from panchime.records.lots import GreenLot
from panchime.records.records import Records
from panchime.virtual.roaster.kitchen import STEP_US, Kitchen
from panchime.virtual.roaster.scenario import Scenario, load_scenario, scenario_names
from panchime_fw import events, logformat

SAMPLE_MS = 250
STEPS_A_SAMPLE = SAMPLE_MS * 1000 // STEP_US
RESOLUTION_CENTI = 25  # of a common amplifier
COOLING_MS = 60_000
LONGEST_MS = 4_000_000
MARKS = ["beans in", "yellow", "first crack", "second crack", "beans out"]
FIRST_UTC_MS = 1_700_000_000_000
DAY_MS = 86_400_000
BOARD = "INVENTED"
UPTIME_MS = 60_000
WEIGHED_EVERY, NOTED_EVERY = 2, 5


@dataclass(frozen=True)
class Truth:
    """What the virtual kitchen knows of a roast: at each sample the probe's own temperature, and when the person acted (ms)."""

    t_ms: list[int]
    probe_c: list[float]
    acts_ms: dict[str, int]


def cooked(scenario: Scenario, seed: int) -> tuple[list[tuple[int, int, int]], Truth]:
    """The samples of a kitchen's roast, (ms, hundredths of degC, cold junction in hundredths), and the truth behind them."""
    kitchen = Kitchen(scenario, seed)
    samples: list[tuple[int, int, int]] = []
    truth = Truth([], [], {})
    done_ms = None
    while done_ms is None or samples[-1][0] < done_ms + COOLING_MS:
        for _ in range(STEPS_A_SAMPLE):
            kitchen.step(relay_closed=True)
        t_ms = round(kitchen.t_s * 1000)
        if t_ms > LONGEST_MS:
            raise RuntimeError(f"{scenario.name}: the roast never ended")
        reading = round(kitchen.probe.reading_c() * 100 / RESOLUTION_CENTI) * RESOLUTION_CENTI
        samples.append((t_ms, reading, round(kitchen.cold_c * 100)))
        truth.t_ms.append(t_ms)
        truth.probe_c.append(kitchen.probe.tip_c)
        if done_ms is None and len(kitchen.person.done) == len(kitchen.person.acts):
            done_ms = t_ms
    truth.acts_ms.update({name: round(t_s * 1000) for name, t_s in kitchen.person.done})
    return samples, truth


def written_log(samples: list[tuple[int, int, int]], acts_ms: dict[str, int], plan: dict[str, object], **head: object) -> bytes:
    """The bytes of a log with these samples, a mark for each act of a mark's name, and its end."""
    first, seed = logformat.head_bytes(head_of(plan, **head))
    raw = bytearray(first)
    encoder = logformat.Encoder()
    encoder.reset(SAMPLE_MS)
    marks = sorted((at_ms, MARKS.index(name)) for name, at_ms in acts_ms.items() if name in MARKS)

    def seal() -> None:
        for index in range(encoder.finished):
            raw.extend(encoder.chunk(index, seed))
        encoder.drop(encoder.finished)

    for t_ms, centi, cold_centi in samples:
        while marks and marks[0][0] <= t_ms:
            at_ms, index = marks.pop(0)
            encoder.event(at_ms, events.MARK, index, events.PRESSED, at_ms)
        encoder.sample(t_ms, centi, cold_centi)
        if encoder.full:
            encoder.finish()
        seal()
    encoder.finish()
    seal()
    raw += logformat.end_bytes(samples[-1][0], events.DONE, zlib.crc32(bytes(raw)), seed)
    return bytes(raw)


def head_of(plan: dict[str, object], **keys: object) -> dict[str, object]:
    """The head of a log of an invented board."""
    head = {"format": 1, "model": "invented board", "firmware": "0.1.0", "number": 1, "utc": None, "amplifier": "MAX31855"}
    return head | {"thermocouple": "K", "calibration": None, "sample_ms": SAMPLE_MS, "plan": plan} | keys


def plan_of(scenario: Scenario) -> dict[str, object]:
    """A plan for a scenario's method."""
    return {"name": f"{scenario.method}, to City", "method": scenario.method, "unit": "C", "limit": 245, "marks": MARKS}


@dataclass(frozen=True)
class Pattern:
    """A kitchen's roast that is kept again and again, on other days."""

    raw: bytes
    plan: dict[str, object]
    summary: Summary


def patterns() -> list[Pattern]:
    """One roast of every scenario."""
    found = []
    for name in scenario_names():
        scenario = load_scenario(name)
        samples, truth = cooked(scenario, 1)
        raw = written_log(samples, truth.acts_ms, plan_of(scenario), board=BOARD, boot=1, uptime_ms=0)
        found.append(Pattern(raw, plan_of(scenario), summarise(tell(raw), running=False)))
    return found


def with_identity(raw: bytes, keys: dict[str, object]) -> bytes:
    """A log under another head: its chunks and its end are the same, with new checks."""
    first, seed = logformat.head_bytes(keys)
    made = bytearray(first)
    at, end = logformat.head_length(raw), len(raw) - logformat.END_BYTES
    while at < end:
        chunk = raw[at : at + 1 + raw[at]]
        check = zlib.crc32(chunk, seed) & logformat.CHECK_MASK
        made += chunk + check.to_bytes(3, "big")
        at += len(chunk) + 3
    t_ms, reason = int.from_bytes(raw[end + 4 : end + 7], "big"), raw[end + 3]
    return bytes(made) + logformat.end_bytes(t_ms, reason, zlib.crc32(bytes(made)), seed)


def fill(journal: Journal, numbers: range, progress: Callable[[int], None] = lambda number: None) -> None:
    """Keeps roasts of these numbers (from 1 on), a day apart; half of them are weighed, a fifth has a note.

    ``numbers`` go on from what the journal has of them already.
    """
    kinds = patterns()
    chance = random.Random(numbers.start)
    records = Records(journal)
    lot = next(iter(records.lots.all()), None) or records.lots.add(GreenLot(0, name="Invented washed", bought_mg=60_000_000))
    for number in numbers:
        kind = chance.choice(kinds)
        utc_ms = FIRST_UTC_MS + number * DAY_MS
        raw = with_identity(kind.raw, head_of(kind.plan, board=BOARD, boot=number, uptime_ms=UPTIME_MS))
        summary = replace(kind.summary, boot=number, uptime_ms=UPTIME_MS, head_utc_ms=utc_ms)
        kept = journal.keep(f"{number:06d}.roast", raw, summary)
        if number % WEIGHED_EVERY == 0:
            records.roasts.say(kept, green_mg=250_000, roasted_mg=chance.randrange(205_000, 222_000), lot=lot)
        if number % NOTED_EVERY == 0:
            records.roasts.add_note(kept, chance.choice(["Windy.", "The pan smoked a little.", "Sweeter than the last one."]))
        progress(number)
