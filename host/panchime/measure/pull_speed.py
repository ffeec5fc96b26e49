"""How fast a roast is pulled, against MicroPython's own file copy over the same port, interpreter and flash.

    python -m panchime.measure.pull_speed [bytes [repeats [port]]]

Without a port a virtual board at real speed is measured, with a made log of that many bytes on its flash. With a port the
board's longest roast is. ``mpremote`` restarts the interpreter to copy, so a real board has to be plugged in anew afterwards.
"""

import contextlib
import os
import statistics
import subprocess
import sys
import tempfile
import time
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from panchime.journal.journal import Journal
from panchime.journal.pulling import fetch, pull
from panchime.link.board import Board, LogFile
from panchime.virtual.board import VirtualBoard, default_firmware
from panchime.virtual.flash import prepare_image
from panchime.virtual.interpreter import micropython_command, shim_folder
from panchime_fw import logformat

NAME = "000001.roast"
BYTES = 100_000
REPEATS = 5
READY_MS = 3000  # a board has then booted and looked at its amplifier


@dataclass(frozen=True)
class Speed:
    """One way of fetching: seconds, the median of the repeats, and bytes a second."""

    way: str
    length: int
    seconds: float

    @property
    def bytes_per_s(self) -> float:
        """Bytes of the log in a second."""
        return self.length / self.seconds


def made_log(length: int) -> bytes:
    """A log of about ``length`` bytes, whole and closed, as the board writes it."""
    head = {"format": 1, "board": "E6614103E7A1B2C3", "number": 1, "boot": 1, "uptime_ms": 5000, "utc": None, "sample_ms": 250}
    raw, seed = logformat.head_bytes(head | {"plan": {"name": "Made to measure", "marks": []}})
    found = bytearray(raw)
    encoder = logformat.Encoder()
    encoder.reset(250)
    t_ms = 0
    while len(found) < length:
        encoder.sample(t_ms, 2000 + t_ms // 40 % 23000 + t_ms % 175, 2500)
        t_ms += 250
        if encoder.full:
            encoder.finish()
            for index in range(encoder.finished):
                found += encoder.chunk(index, seed)
            encoder.drop(encoder.finished)
    return bytes(found + logformat.end_bytes(t_ms, 0, zlib.crc32(found), seed))


def lay_onto(image: Path, raw: bytes) -> None:
    """Puts the firmware and a log onto a flash image. Raises CalledProcessError when it does not fit."""
    prepare_image(image, default_firmware())
    source = image.with_name("log.bin")
    source.write_bytes(raw)
    command = micropython_command()
    assert command is not None, "prepare_image has just run it"
    subprocess.run(
        [*command, str(shim_folder() / "prepare_flash.py"), str(image), str(source), f"log/{NAME}"],
        env={**os.environ, "MICROPYPATH": str(shim_folder())},
        check=True,
        capture_output=True,
    )


def median_s(repeats: int, work: Callable[[], None]) -> float:
    """The median of the seconds that a piece of work takes."""
    taken = []
    for _ in range(repeats):
        begin = time.perf_counter()
        work()
        taken.append(time.perf_counter() - begin)
    return statistics.median(taken)


def panchime_speeds(port: str, repeats: int) -> list[Speed]:
    """The pull with the port open, into a new journal each time, and the whole command."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        with Board.connect(port) as board:
            files = board.catalogue().files
            longest = max(files, key=lambda file: file.bytes)
            whole = sum(file.bytes for file in files)

            def pull_anew() -> None:
                (place / "journal.sqlite").unlink(missing_ok=True)
                with Journal(place / "journal.sqlite") as journal:
                    pull(board, journal)

            open_s = median_s(repeats, pull_anew)
            raw_s = median_s(repeats, lambda: fetch_alone(board, longest))

        def command() -> None:
            (place / "journal.sqlite").unlink(missing_ok=True)
            arguments = [sys.executable, "-m", "panchime", "pull", "--all", "--port", port]
            subprocess.run(arguments, env={**os.environ, "PANCHIME_HOME": folder}, check=True, capture_output=True)

        command_s = median_s(max(1, repeats // 2), command)
    return [
        Speed("panchime, bytes alone", longest.bytes, raw_s),
        Speed("panchime, pull into the journal", whole, open_s),
        Speed("panchime pull, whole command", whole, command_s),
    ]


def fetch_alone(board: Board, file: LogFile) -> None:
    """A log's bytes, and nothing made of them."""
    raw = fetch(board, file, b"", lambda name, done, whole: None)
    assert len(raw) == file.bytes, f"{len(raw)} of {file.bytes} bytes came"


def mpremote_speeds(port: str, repeats: int, name: str, length: int) -> list[Speed]:
    """mpremote's copy with the port open and the prompt reached, and its whole command."""
    from mpremote.transport_serial import SerialTransport

    transport = SerialTransport(port)
    try:
        transport.enter_raw_repl()

        def read_file() -> None:
            raw = transport.fs_readfile(f"log/{name}")
            assert len(raw) == length, f"{len(raw)} of {length} bytes came"

        open_s = median_s(max(1, repeats // 2), read_file)
        transport.exit_raw_repl()
    finally:
        transport.close()
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder) / "copied"

        def command() -> None:
            arguments = [sys.executable, "-m", "mpremote", "connect", port, "fs", "cp", f":log/{name}", str(target)]
            subprocess.run(arguments, check=True, capture_output=True, stdin=subprocess.DEVNULL)

        command_s = median_s(max(1, repeats // 2), command)
        assert target.stat().st_size == length, "mpremote copied another length"
    return [
        Speed("mpremote, bytes alone", length, open_s),
        Speed("mpremote fs cp, whole command", length, command_s),
    ]


@contextlib.contextmanager
def virtual_port(length: int) -> Iterator[str]:
    """The port of a virtual board at real speed with one made log."""
    with tempfile.TemporaryDirectory() as folder:
        image = Path(folder) / "flash.img"
        lay_onto(image, made_log(length))
        with VirtualBoard(flash=image, keep_firmware=True, speed=1) as board:
            board.wait_until(READY_MS)
            yield board.port


def measure(port: str, repeats: int) -> list[Speed]:
    """Every way, ours first: afterwards the board stands at its prompt."""
    with Board.connect(port) as board:
        longest = max(board.catalogue().files, key=lambda file: file.bytes)
    return panchime_speeds(port, repeats) + mpremote_speeds(port, repeats, longest.name, longest.bytes)


def table(speeds: list[Speed]) -> str:
    """The measurement in a few lines, and how many times faster ours is."""
    lines = [f"{'way':<34}{'bytes':>9}{'seconds':>10}{'kB/s':>9}"]
    lines += [f"{one.way:<34}{one.length:>9}{one.seconds:>10.3f}{one.bytes_per_s / 1000:>9.1f}" for one in speeds]
    ours, pulled, command, theirs, their_command = speeds
    lines.append(f"bytes alone {ours.bytes_per_s / theirs.bytes_per_s:.1f} times as fast, ")
    lines[-1] += f"pull with the port open {pulled.bytes_per_s / theirs.bytes_per_s:.1f} times, "
    lines[-1] += f"command against command {command.bytes_per_s / their_command.bytes_per_s:.1f} times"
    return "\n".join(lines)


def main() -> int:
    """Measures and prints a table."""
    length = int(sys.argv[1]) if len(sys.argv) > 1 else BYTES
    repeats = int(sys.argv[2]) if len(sys.argv) > 2 else REPEATS
    if len(sys.argv) > 3:
        print(table(measure(sys.argv[3], repeats)))
        return 0
    with virtual_port(length) as port:
        print(table(measure(port, repeats)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
