"""Pulls over a line that does one thing wrong at one byte: at every chunk of every log, and at random bytes of the whole talk.

Whatever happens, the journal holds no log that is not, byte for byte, one of the board's; an error says what to do; the next
pull over a good line brings everything, once.

Usage: python tests/campaigns/link_drops/run.py [random bytes [seed]]
"""

import collections
import itertools
import json
import random
import shutil
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
ROOT = HERE.parent.parent.parent
for folder in (ROOT / "firmware", ROOT / "host", ROOT / "tests" / "host", HERE.parent, HERE):
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))

from how_far import shown  # noqa: E402  # after the paths
from made_roast import made_roast  # noqa: E402
from spoilt_port import KINDS, SERIAL, TO_BOARD, TO_HOST, Firmware, Line, SpoiltPort  # noqa: E402

from panchime.errors import PanchimeError  # noqa: E402
from panchime.journal.journal import Journal  # noqa: E402
from panchime.journal.pulling import pull  # noqa: E402
from panchime.link import scpi_client  # noqa: E402
from panchime.link.board import Board  # noqa: E402
from panchime_fw import logreader  # noqa: E402

RESULT = ROOT / "build" / "campaign-link-drops.json"
RANDOM_BYTES = 1000
SEED = 20261125
# What an error must have to be of use: something to do.
WAYS_OUT = ("again", "Plug", "plug", "cable", "install")
TIDY_SHARE = 0.25
UPTIME_MS = 0  # the bench's loop does not run, so its uptime stands still


@dataclass(frozen=True)
class Fault:
    """What goes wrong, where in the stream, and in which direction."""

    kind: str
    way: str
    at: int
    place: str  # "chunk" or "random"


class Bench:
    """A board with a few logs, and journals that are thrown away."""

    def __init__(self, folder: Path, seed: int) -> None:
        self.folder = folder
        self.seed = seed
        # Time-outs are over at once, see spoilt_port.
        scpi_client.QUIET_S = 0.001
        scpi_client.DRAIN_LIMIT_S = 0.05
        self.logs = {
            "000001.roast": made_roast(board=SERIAL, boot=1, uptime_ms=60_000, until_ms=40_000),
            "000002.roast": made_roast(board=SERIAL, boot=1, uptime_ms=900_000, until_ms=120_000, end=None),
            "000003.roast": made_roast(board=SERIAL, boot=2, uptime_ms=50_000, until_ms=300_000),
        }
        with Journal(folder / "empty.sqlite") as journal:
            journal.entries()
        self.count = 0

    def flash(self) -> Path:
        """A fresh flash with the logs."""
        place = self.folder / "flash"
        shutil.rmtree(place, ignore_errors=True)
        (place / "log").mkdir(parents=True)
        for name, raw in self.logs.items():
            (place / "log" / name).write_bytes(raw)
        return place

    def board(self, firmware: Firmware, to_host: Line, to_board: Line) -> tuple[Board, SpoiltPort]:
        port = SpoiltPort(firmware, to_host, to_board)
        client = scpi_client.ScpiClient(port, "bench", answer_timeout_s=0.0)  # type: ignore[arg-type]
        return Board(client, client.synchronise()), port

    def journal_file(self) -> Path:
        self.count += 1
        file = self.folder / f"journal-{self.count}.sqlite"
        shutil.copyfile(self.folder / "empty.sqlite", file)
        return file

    def talk(self) -> tuple[bytes, int]:
        """A pull over a good line: all the board sends, and how many bytes it is sent."""
        line = Line(None, 0, 0)
        board, port = self.board(Firmware(self.flash()), Line(None, 0, 0), line)
        with Journal(self.journal_file()) as journal:
            board.set_clock()
            board.anchor()
            pull(board, journal)
        return bytes(port.sent), line.passed

    def fault_at_chunks(self, sent: bytes) -> Iterator[Fault]:
        """Every kind at every chunk of every log where it stands in the talk."""
        for raw in self.logs.values():
            begin = sent.index(raw)
            for chunk in [0, *logreader.decode(raw).chunks, len(raw)]:
                for kind in KINDS:
                    yield Fault(kind, TO_HOST, begin + chunk, "chunk")

    def run(self, fault: Fault, number: int) -> tuple[str, list[str]]:
        """(what became of the pull, what must not be)."""
        chance = random.Random(f"{self.seed} {number}")
        lines = {way: Line(fault.kind if way == fault.way else None, fault.at, number) for way in (TO_HOST, TO_BOARD)}
        tidy = chance.random() < TIDY_SHARE
        found: list[str] = []
        firmware = Firmware(self.flash())
        file = self.journal_file()
        outcome = "not reached"
        try:
            with Journal(file) as journal:
                board, _ = self.board(firmware, lines[TO_HOST], lines[TO_BOARD])
                board.set_clock()
                if not firmware.clock_is_right():
                    found.append(f"the board's clock is set to {firmware.board.clock}")
                anchor = board.anchor()
                if (anchor.boot, board.identity.serial) != (1, SERIAL) or anchor.uptime_ms != UPTIME_MS:
                    found.append(f"connected to {board.identity.serial} with {anchor}")
                pull(board, journal, tidy=tidy)
            if any(line.happened for line in lines.values()):
                outcome = "pulled all the same"
                if self.held(file) != sorted(self.logs.values()):
                    found.append("the pull says nothing, and the journal has not every log")
        except PanchimeError as error:
            outcome = "an error that says what to do"
            if not any(word in str(error) for word in WAYS_OUT):
                found.append(f"the error says no way out: {error}")
        found += [f"a log in the journal is none of the board's ({len(raw)} bytes)" for raw in self.held(file) if raw not in
                  self.logs.values()]  # fmt: skip
        gone = [name for name in self.logs if not (self.folder / "flash" / "log" / name).exists()]
        found += [f"{name} is deleted and not in the journal" for name in gone if self.logs[name] not in self.held(file)]
        # The cable is put back, over the same firmware that may be in the middle of something.
        good, _ = self.board(firmware, Line(None, 0, 0), Line(None, 0, 0))
        with Journal(file) as journal:
            pull(good, journal)
        if self.held(file) != sorted(self.logs.values()):
            found.append("the next pull does not bring every log once")
        for ending in ("", "-wal", "-shm"):
            file.with_name(file.name + ending).unlink(missing_ok=True)
        return outcome, [f"{fault.kind} {fault.way} at byte {fault.at}{' (tidy)' if tidy else ''}: {words}" for words in found]

    def held(self, file: Path) -> list[bytes]:
        with Journal(file) as journal:
            return sorted(journal.raw(entry.number) for entry in journal.entries())


def campaign(random_bytes: int, seed: int, every_chunk: int = 1) -> dict[str, Any]:
    """All faults; of those at chunks only every n-th."""
    counts: collections.Counter[tuple[str, str, str]] = collections.Counter()
    problems: list[str] = []
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder), seed)
        sent, asked = bench.talk()
        chance = random.Random(seed)
        faults = list(itertools.islice(bench.fault_at_chunks(sent), 0, None, every_chunk))
        for index in range(random_bytes):
            way = TO_BOARD if chance.random() < asked / (asked + len(sent)) else TO_HOST
            length = asked if way == TO_BOARD else len(sent)
            faults.append(Fault(KINDS[index % len(KINDS)], way, chance.randrange(length), "random"))
        for number, fault in enumerate(shown(faults, len(faults), "pulls over a bad line")):
            outcome, found = bench.run(fault, number)
            counts[fault.place, fault.kind, outcome] += 1
            problems += found
    return {
        "faults": sum(counts.values()),
        "bytes_to_the_computer": len(sent),
        "bytes_to_the_board": asked,
        "seed": seed,
        "counts": [[*key, count] for key, count in sorted(counts.items())],
        "problem_count": len(problems),
        "problems": problems[:50],
    }


def table(result: dict[str, Any]) -> str:
    """The result in a few lines."""
    outcomes = ("pulled all the same", "an error that says what to do", "not reached")
    lines = [f"{'where':<8}{'what':<26}" + "".join(f"{name:>31}" for name in outcomes)]
    cells = {(place, kind, outcome): count for place, kind, outcome, count in result["counts"]}
    for place, kind in sorted({key[:2] for key in cells}):
        lines.append(f"{place:<8}{kind:<26}" + "".join(f"{cells.get((place, kind, name), 0):>31}" for name in outcomes))
    lines.append(f"{result['faults']} faults, seed {result['seed']}; {result['problem_count']} problems")
    return "\n".join(lines + result["problems"])


def main() -> int:
    given = [int(word) for word in sys.argv[1:3]]
    random_bytes, seed = given + [RANDOM_BYTES, SEED][len(given) :]
    result = campaign(random_bytes, seed)
    RESULT.parent.mkdir(exist_ok=True)
    RESULT.write_text(json.dumps(result, indent=2) + "\n", encoding="utf-8")
    print(table(result))
    return 1 if result["problem_count"] else 0


if __name__ == "__main__":
    sys.exit(main())
