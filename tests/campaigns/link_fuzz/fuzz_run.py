"""Throws messages at a board whose heater is on, and watches what must never happen.

No message may end the loop, wedge the link, close a relay that was open (but for the commands that say so), clear a trip (but
for OUTPut:PROTection:CLEar) or start a roast (but for PROGram:STATe); and the error queue counts right.

Usage: python tests/campaigns/link_fuzz/fuzz_run.py [--messages N] [--seed N] [--processes N]
"""

import argparse
import collections
import json
import multiprocessing
import random
import re
import sys
from binascii import crc32
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
ROOT = HERE.parent.parent.parent
for folder in (ROOT / "firmware", ROOT / "host", HERE, HERE.parent, HERE.parent / "faults"):
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))

import bench_flash  # noqa: E402  # after the paths
import fuzz_messages  # noqa: E402
from bench_board import Bench, BenchBoard, Host, World  # noqa: E402
from how_far import shown  # noqa: E402

from panchime.virtual.roaster.kitchen import Kitchen  # noqa: E402
from panchime.virtual.roaster.scenario import load_scenario  # noqa: E402
from panchime_fw import trips  # noqa: E402
from panchime_fw.scpi import commands, errors, status  # noqa: E402

RESULT = ROOT / "build" / "campaign-link.json"
BATCH = 5000
CLOSERS = {"PROGram[:SELected]:STATe", "OUTPut[:STATe]", "MARK:UNDO"}
STARTERS = {"PROGram[:SELected]:STATe"}
CLEARER = "OUTPut:PROTection:CLEar"
ERROR_LINE = re.compile(rb'^-?\d+,"(?:[ !#-~]|"")*"$')
LONGEST_ERROR = 255  # SCPI-1999 volume 2, 21.8.1
PASSES_LIMIT = 3000
IDLE_SHARE = 0.2
FAULT_KINDS = ("open", "absent low", "frozen", "none", "none", "none", "none")
WARM_C = 190.0  # above what "not warming" watches, below the limit
MENDING = (
    b"TEMP:TRAN:AMPL MAX31855\n", b"TEMP:TRAN:TCO:TYPE K\n", b"TEMP:TRAN:LAG 0\n", b"TEMP:TRAN:CAL:CLE\n",
    b"TEMP:RATE:WIND 30\n",
)  # fmt: skip


class BenchWorld(World):
    """A probe at one temperature, with the amplifier's noise."""

    def catch_up(self) -> None:
        self._conversion = self.now_ms // self.chip.conversion_ms
        self._junction_c = WARM_C + self.chance.gauss(0.0, 0.2)
        self._fresh = True


class Listener(Host):
    def taken(self, board: BenchBoard, part: bytes) -> None:
        self.from_board += part


class Queue:
    """What the error queue should hold: an independent copy of SCPI's rules."""

    def __init__(self, of: status.Status) -> None:
        self.numbers: list[int] = []
        self.added = 0
        self.mistakes: list[str] = []  # exceptions of a handler that nobody had thought of
        real_add, real_clear = of.add_error, of.clear

        def add(number: int, detail: str = "") -> None:
            self.added += 1
            if number == errors.SYSTEM:
                self.mistakes.append(detail)
            if len(self.numbers) >= status.QUEUE_LIMIT:
                self.numbers[-1] = errors.QUEUE_OVERFLOW
            else:
                self.numbers.append(number)
            real_add(number, detail)

        def clear() -> None:
            self.numbers.clear()
            real_clear()

        real_next = of.next_error

        def next_error() -> str:
            told = str(real_next())
            wanted = self.numbers.pop(0) if self.numbers else 0
            assert int(told.split(",")[0]) == wanted, f"the queue gave {told}, not {wanted}"
            return told

        of.add_error, of.clear, of.next_error = add, clear, next_error  # type: ignore[method-assign,assignment]


class Fuzz:
    """One board, one stream of messages."""

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(f"link {seed}")
        self.seed = seed
        self.findings: collections.Counter[str] = collections.Counter()
        self.examples: dict[str, str] = {}
        self.counts: collections.Counter[str] = collections.Counter()
        self.told: collections.Counter[int] = collections.Counter()
        self.executed: set[str] = set()
        self._build()

    def _build(self) -> None:
        kitchen = Kitchen(load_scenario("hot-air-popper-mild"), 1)
        self.flash = bench_flash.Flash()
        self.world = BenchWorld(kitchen, self.seed)
        self.world.now_ms = 1000
        self.bench = Bench(self.world, self.flash, json.dumps(fuzz_messages.PLAN))
        self.board = self.bench.board
        self.board.watchdog_works = False
        self.host = self.board.host = Listener()
        self.queue = Queue(self.bench.instrument.status)
        self.session = self.bench.session
        self._settle(1600)

    def _settle(self, ms: int) -> None:
        end_ms = self.world.now_ms + ms
        while self.world.now_ms < end_ms:
            self.bench.step()

    def send(self, data: bytes) -> bytes:
        """Sends, lets the board work until it is done, answers what came back."""
        host, instrument = self.host, self.bench.instrument
        host.from_board.clear()
        host.to_board += data
        for _ in range(PASSES_LIMIT):
            self.bench.step()
            if not host.to_board and not instrument.busy:
                break
        else:
            self.find("the board is still busy", data)
        return bytes(host.from_board)

    def find(self, what: str, data: bytes) -> None:
        self.findings[what] += 1
        self.examples.setdefault(what, repr(data[:300]) + f" seed {self.seed} message {self.counts['messages']}")

    def one(self, data: bytes) -> None:
        """One message and everything that must hold after it."""
        self.counts["messages"] += 1
        self.executed.clear()
        session = self.session
        reason, running = session.cutoff.reason, session.roast.running
        switched = len(self.board.relay_log)
        self.counts["with the relay closed"] += self.board.relay_closed
        self.counts["while tripped"] += reason != trips.NONE
        try:
            answer = self.send(data)
        except Exception as error:
            self.find(f"the loop ended with {type(error).__name__}: {error}", data)
            self._build()
            return
        if any(closed for _, closed in self.board.relay_log[switched:]) and not self.executed & CLOSERS:
            self.find("the relay closed", data)
        if reason != trips.NONE and session.cutoff.reason == trips.NONE and CLEARER not in self.executed:
            self.find("the trip was cleared", data)
        if not running and session.roast.running and not self.executed & STARTERS:
            self.find("a roast began", data)
        if self.board.relay_closed and session.cutoff.reason != trips.NONE:
            self.find("closed although tripped", data)
        if self.bench.instrument.status.error_count() != len(self.queue.numbers):
            self.find("the error queue counts wrong", data)
        for detail in self.queue.mistakes:
            self.find("a handler raised " + detail.split(" ")[0], data + b" " + repr(detail).encode())
        self.queue.mistakes.clear()
        if answer and not answer.endswith(b"\n"):
            self.find("an answer without its end", data)

    def is_alive(self, before: bytes) -> None:
        """The link answers, whatever came before. An unfinished line is ended first."""
        self.send(b"\n")
        identity = self.bench.instrument.identity().encode() + b"\n"
        if self.send(b"*IDN?\n") != identity:
            self.find("no answer to *IDN?", before)
            self.send(b"\n" * 6000)
            if self.send(b"*IDN?\n") != identity:
                self.find("wedged", before)

    def read_errors(self, before: bytes) -> None:
        """Reads the queue over the link until it is empty."""
        count = self.send(b"SYST:ERR:COUN?\n")
        if count != b"%d\n" % len(self.queue.numbers):
            self.find("SYSTem:ERRor:COUNt? is wrong", before)
        for _ in range(status.QUEUE_LIMIT + 2):
            try:
                line = self.send(b"SYST:ERR?\n")
            except AssertionError as error:
                self.find(str(error), before)
                continue
            told = line[:-1]
            if not ERROR_LINE.match(told):
                self.find("an error line that is no line of ASCII", line)
            elif len(told[told.index(b'"') + 1 : -1]) > LONGEST_ERROR:
                self.find("an error text over 255 characters", line)
            number = int(told.split(b",")[0]) if ERROR_LINE.match(told) else -1
            self.told[number] += 1
            if number == 0:
                return
        self.find("the error queue never ends", before)

    def known(self) -> None:
        data, wanted = self.chance.choice(fuzz_messages.KNOWN)
        if data.startswith(b"PROG") and self.session.roast.running:
            wanted = wanted if wanted == errors.INVALID_BLOCK else errors.PROGRAM_RUNNING
        if data.startswith(b"OUTP 1") and not self.session.roast.running:
            return
        self.send(b"\n*CLS\n")
        self.send(data + b"\n")
        numbers = list(self.queue.numbers)
        if numbers != ([wanted] if wanted else []):
            self.find(f"errors {numbers} and not {wanted}", data)
        self.counts["messages of a known error"] += 1

    def keep_roasting(self, idle_share: float = IDLE_SHARE) -> None:
        """Brings the board back into a heated roast, by the documented commands alone."""
        self.world.chip.fault = "none"
        self.send(b"\n")
        self._settle(600)
        if self.chance.random() < idle_share:
            # Plans and settings are taken only while no roast runs.
            self.send(b"OUTP:PROT:CLE;:PROG:STAT STOP\n")
            self.counts["rounds without a roast"] += 1
            return
        for path in sorted(path for path in self.flash.files if path.endswith(".roast"))[:-6]:
            del self.flash.files[path]
        if self.board.relay_closed:
            return
        body = json.dumps(fuzz_messages.PLAN).encode()
        content = b"%08X" % crc32(body) + body
        self.send(b"OUTP:PROT:CLE;:PROG:STAT STOP\n")
        for line in MENDING:
            self.send(line)
        self.send(b"PROG:DEF #3%d%s\n" % (len(content), content))
        self._settle(1600)
        self.send(b"OUTP:PROT:CLE\nPROG:STAT RUN\n")
        self._settle(300)
        self.counts["roasts"] += 1
        if not self.board.relay_closed:
            self.find("no new roast: " + self.session.why_not_start(self.board.ticks_ms()), b"")

    def run(self, count: int) -> None:
        real_find = commands.find

        def find(words: Any, is_query: bool) -> Any:
            row = real_find(words, is_query)
            self.executed.add(row[0])
            return row

        commands.find = find  # type: ignore[assignment]
        try:
            last = b""
            for index in range(count):
                if index % 50 == 0:
                    self.keep_roasting()
                if index % 25 == 24:
                    self.world.chip.fault = self.chance.choice(FAULT_KINDS)
                    self._settle(self.chance.choice((300, 1500)))
                last = fuzz_messages.message(self.chance)
                self.one(last)
                if index % 10 == 9:
                    self.is_alive(last)
                if index % 40 == 39:
                    self.read_errors(last)
                if index % 20 == 19:
                    self.known()
        finally:
            commands.find = real_find


def batch(job: tuple[int, int]) -> tuple[dict[str, int], dict[str, str], dict[str, int], dict[int, int]]:
    seed, count = job
    with bench_flash.installed():
        fuzz = Fuzz(seed)
        fuzz.run(count)
    return dict(fuzz.findings), fuzz.examples, dict(fuzz.counts), dict(fuzz.told)


def campaign(messages: int, seed: int, processes: int) -> dict[str, Any]:
    """Everything, as one document."""
    jobs = [(seed * 100000 + first // BATCH, min(BATCH, messages - first)) for first in range(0, messages, BATCH)]
    findings: collections.Counter[str] = collections.Counter()
    counts: collections.Counter[str] = collections.Counter()
    told: collections.Counter[int] = collections.Counter()
    examples: dict[str, str] = {}
    with multiprocessing.get_context("spawn").Pool(processes) if processes > 1 else _Here() as pool:
        for found, some, counted, errors_told in shown(pool.imap_unordered(batch, jobs), len(jobs), f"{BATCH} messages each"):
            findings.update(found)
            counts.update(counted)
            told.update(errors_told)
            for what, example in some.items():
                examples.setdefault(what, example)
    return {
        "seed": seed,
        "counts": dict(counts),
        "findings": {what: {"count": count, "example": examples[what]} for what, count in findings.most_common()},
        "errors_told": {str(number): count for number, count in sorted(told.items())},
    }


class _Here:
    """A pool of this process alone."""

    def __enter__(self) -> "_Here":
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def imap_unordered(self, work: Any, jobs: list[Any]) -> Any:
        return map(work, jobs)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--messages", type=int, default=1_000_000)
    parser.add_argument("--seed", type=int, default=20261125)
    parser.add_argument("--processes", type=int, default=2)
    asked = parser.parse_args()
    result = campaign(asked.messages, asked.seed, asked.processes)
    RESULT.parent.mkdir(exist_ok=True)
    RESULT.write_text(json.dumps(result, indent=2) + "\n", encoding="utf-8")
    for what, count in result["counts"].items():
        print(f"{what:<30}{count:>10}")
    print("errors told:", ", ".join(f"{number}: {count}" for number, count in result["errors_told"].items()))
    for what, found in result["findings"].items():
        print(f"FOUND {found['count']} x {what}: {found['example']}")
    print(f"{len(result['findings'])} kinds of findings, seed {result['seed']}")
    return 1 if result["findings"] else 0


if __name__ == "__main__":
    sys.exit(main())
