"""Writes a journal of many invented roasts, to measure and to look at what lists and pages make of it.

    python tools/make_journal.py FOLDER 1000

The roasts are those of the virtual kitchen on a few days, written by the board's own encoder; FOLDER becomes PANCHIME_HOME.
Prints how long a list of all roasts took to write, and how long a list of ten times as many would take.
"""

import argparse
import os
import random
import sys
import time
import zlib
from dataclasses import dataclass, replace
from pathlib import Path

from panchime.data_folder import VARIABLE
from panchime.journal.journal import Journal
from panchime.journal.story import tell
from panchime.journal.summary import Summary, summarise
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
            raise SystemExit(f"{scenario.name}: the roast never ended")
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
    keys = {"format": 1, "model": "invented board", "firmware": "0.1.0", "number": 1, "utc": None, "amplifier": "MAX31855"}
    keys |= {"thermocouple": "K", "calibration": None, "sample_ms": SAMPLE_MS, "plan": plan} | head
    first, seed = logformat.head_bytes(keys)
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


def plan_of(scenario: Scenario) -> dict[str, object]:
    """A plan for a scenario's method."""
    return {"name": f"{scenario.method}, to City", "method": scenario.method, "unit": "C", "limit": 245, "marks": MARKS}


def fill(count: int) -> None:
    """Keeps so many roasts: each kitchen's roasts again and again, on other days."""
    kitchens = []
    for name in scenario_names():
        scenario = load_scenario(name)
        samples, truth = cooked(scenario, 1)
        raw = written_log(samples, truth.acts_ms, plan_of(scenario), board="INVENTED", boot=1, uptime_ms=0)
        kitchens.append((scenario, samples, truth, summarise(tell(raw), running=False)))
    chance = random.Random(4)
    with Journal() as journal:
        for number in range(1, count + 1):
            scenario, samples, truth, summary = chance.choice(kitchens)
            utc_ms = FIRST_UTC_MS + number * DAY_MS
            identity = {"board": "INVENTED", "boot": number, "uptime_ms": 60_000}
            raw = written_log(samples, truth.acts_ms, plan_of(scenario), **identity)
            journal.keep(f"{number:06d}.roast", raw, moved(summary, number, utc_ms))


def moved(summary: Summary, boot: int, utc_ms: int) -> Summary:
    """A roast's summary on another day."""
    return replace(summary, boot=boot, uptime_ms=60_000, head_utc_ms=utc_ms)


def measure(count: int) -> None:
    """How long the list takes, without the pages of the roasts."""
    from panchime.records.records import Records
    from panchime.report.folder import index_rows
    from panchime.report.index_page import index_page
    from panchime.report.view import Shown

    with Journal() as journal:
        begun = time.perf_counter()
        kept = index_rows(journal, Records(journal).roasts.of_all(), Shown("C"))
        read_s = time.perf_counter() - begun
        html = index_page([item.row for item in kept], "0" * 64)
        all_s = time.perf_counter() - begun
    print(f"list of {count} roasts: {all_s:.2f} s ({read_s:.2f} s of it reading), {len(html) / 1e6:.1f} MB")
    print(f"list of 10000 at that pace: {all_s * 10000 / count:.0f} s")


def main() -> int:
    parser = argparse.ArgumentParser(description="Writes a journal of many invented roasts.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("count", type=int)
    options = parser.parse_args()
    os.environ[VARIABLE] = str(options.folder)
    fill(options.count)
    measure(options.count)
    return 0


if __name__ == "__main__":
    sys.exit(main())
