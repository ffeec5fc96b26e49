"""What the firmware takes of the board's memory: after the start, and the smallest heap in which a whole roast goes through.

    python -m panchime.measure.board_memory [--frozen]

The virtual board runs MicroPython's desktop build, whose words have 64 bits. What the virtual board itself keeps in the same
heap is measured at the empty prompt and taken off. For a board with 32-bit words the figures are estimates: see `ON_32_BITS`.
With PANCHIME_MICROPYTHON in the environment it is that interpreter which runs, and nothing is estimated: DEVELOPERS.md tells
how to build one with 32-bit words, and one with the firmware frozen into it, which `--frozen` measures.
"""

import argparse
import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from panchime.measure.figure import Figure
from panchime.virtual.board import VirtualBoard, default_firmware
from panchime.virtual.interpreter import OWN_INTERPRETER

SCENARIO = "skillet-mild"
SPEED = 60
START_MS = 4000  # the probe is trusted by then
LONGEST_MS = 1_500_000
QUERY_EVERY_MS = 15_000
HEAP_STEP_KB = 4
HEAP_ABUNDANT_KB = 640
# 32-bit words halve objects and tables, but not byte code, texts and bytes. Measured once on MicroPython's desktop build with
# 32-bit words and the same compiled modules: imported 144 KiB against 206, put together 173 against 248.
ON_32_BITS = 0.7
PICO_HEAP_KB = 234  # 240,000 bytes: about what is free at the prompt of a Pico with an RP2040; a Pico 2 has twice as much

AT_PROMPT = """
import gc
gc.collect()
print(gc.mem_alloc())
"""
IMPORTED = """
import gc
import os
packed = __import__("packed") if "panchime_fw.pack" in os.listdir() else None
gc.collect()
before = gc.mem_alloc()
if packed:
    packed.mount("panchime_fw.pack")
import panchime_fw.start
gc.collect()
print(gc.mem_alloc() - before)
"""
BUILT = """
loop = panchime_fw.start.build()
gc.collect()
print(gc.mem_alloc() - before)
"""


@dataclass(frozen=True)
class BoardMemory:
    """Bytes of heap in MicroPython's desktop build: of the modules, of the board put together, and of a whole roast at most."""

    imported: int
    built: int
    roast: int


def starting_with(scratch: str, boot: str, main: str) -> tuple[Path, Path]:
    """A firmware folder of nothing but the two files that a board starts with, and where its flash image is to lie."""
    from panchime.install.files import BOOT, MAIN

    bare = Path(scratch) / "bare"
    bare.mkdir()
    (bare / BOOT).write_text(boot)
    (bare / MAIN).write_text(main)
    return bare, Path(scratch) / "flash"


@contextmanager
def installed_flash(runs: bool = True) -> Iterator[Path]:
    """A flash image on which the firmware was installed; a board with it runs it, or else waits at the prompt."""
    from panchime.install.files import MAIN, BoardFile, firmware_files
    from panchime.install.installing import changes, install
    from panchime.install.prompt import wait_for_prompt

    with tempfile.TemporaryDirectory(prefix="panchime-memory-") as scratch:
        bare, image = starting_with(scratch, "", "")
        files = firmware_files(default_firmware(), compiled=True)
        if not runs:
            files[-1] = BoardFile(MAIN, b"")
        with VirtualBoard(bare, flash=image, speed=1) as virtual, wait_for_prompt(virtual.port, 30) as prompt:
            install(prompt, files, changes(files, prompt.sums()), lambda path, count: None)
        yield image


def at_prompt(image: Path, *codes: str) -> list[int]:
    """What each piece of code prints at the prompt of a board that runs nothing else."""
    from panchime.install.prompt import wait_for_prompt

    with (
        VirtualBoard(flash=image, keep_firmware=True, speed=1, heap_kb=HEAP_ABUNDANT_KB) as virtual,
        wait_for_prompt(virtual.port, 30) as prompt,
    ):
        return [int(prompt.run(code)) for code in codes]


def roast_goes_through(image: Path, heap_kb: int) -> bool:
    """Whether a whole roast does: a plan sent, the roast started, its values asked for all along, and its log pulled whole."""
    from panchime.errors import PanchimeError
    from panchime.journal.story import tell
    from panchime.link.board import Board

    with tempfile.TemporaryDirectory(prefix="panchime-memory-") as scratch:
        flash = Path(scratch) / "flash"
        shutil.copy(image, flash)
        with VirtualBoard(flash=flash, keep_firmware=True, speed=SPEED, scenario=SCENARIO, heap_kb=heap_kb) as virtual:
            try:
                with Board.connect(virtual.port) as board:
                    board.define_plan(board.plan_json())
                    virtual.wait_until(START_MS)
                    # By the link, which says why when a start is refused.
                    board.client.command("PROGram:STATe RUN")
                    while board.roast_runs() and virtual.now_ms < LONGEST_MS:
                        board.live()
                        board.events(0)
                        virtual.wait_until(virtual.now_ms + QUERY_EVERY_MS)
                    (file,) = board.catalogue().files
                    story = tell(board.read_log(file.name, 0, file.bytes))
                    said = board.client.query("SYST:ERR?")
            except (PanchimeError, ValueError):
                return False  # no answer, an answer cut short, or no log
            # Every sample and the end of the record, nothing in the error queue, and the board was never restarted.
            return story.end_reason is not None and not story.problems and said.startswith("0,") and not virtual.events("reset")


def smallest_heap_kb(image: Path) -> int:
    """The smallest heap, in steps of HEAP_STEP_KB, in which a roast goes through. Raises PanchimeError when none does."""
    from panchime.errors import PanchimeError

    low, high = 0, HEAP_ABUNDANT_KB // HEAP_STEP_KB
    if not roast_goes_through(image, HEAP_ABUNDANT_KB):
        raise PanchimeError(f"the roast does not go through in {HEAP_ABUNDANT_KB} KB of heap either: something else is wrong")
    while high - low > 1:
        middle = (low + high) // 2
        if roast_goes_through(image, middle * HEAP_STEP_KB):
            high = middle
        else:
            low = middle
    return high * HEAP_STEP_KB


@contextmanager
def frozen_flash(runs: bool = True) -> Iterator[Path]:
    """As `installed_flash`, for an interpreter that has the modules in itself: boot.py and main.py are all there is."""
    from panchime.install.files import BOOT, MAIN

    texts = [(default_firmware() / name).read_text(encoding="utf-8") if runs else "" for name in (BOOT, MAIN)]
    with tempfile.TemporaryDirectory(prefix="panchime-memory-") as scratch:
        bare, image = starting_with(scratch, *texts)
        with VirtualBoard(bare, flash=image, speed=1):
            pass
        yield image


def board_memory(frozen: bool = False) -> BoardMemory:
    """Measures all three; about three minutes."""
    flash = frozen_flash if frozen else installed_flash
    with flash(runs=False) as image:
        own, imported, built = at_prompt(image, AT_PROMPT, IMPORTED, BUILT)
    with flash() as image:
        return BoardMemory(imported, built, smallest_heap_kb(image) * 1024 - own)


def named(memory: BoardMemory) -> tuple[tuple[str, int, str], ...]:
    """What, how many bytes, and how measured."""
    return (
        ("modules imported", memory.imported, "mem_alloc after a collection"),
        ("board put together", memory.built, "mem_alloc after a collection"),
        (
            "a whole roast with plan, queries and a pull",
            memory.roast,
            f"smallest heap that serves, in steps of {HEAP_STEP_KB} KB",
        ),
    )


def figures() -> list[Figure]:
    """For the bench: what the desktop build takes, and what that makes on 32 bits."""
    found = []
    for name, taken, how in named(board_memory()):
        found.append(Figure(f"heap, 64-bit words: {name}", taken / 1024, "KB", how))
        found.append(
            Figure(f"heap, 32-bit words: {name}", taken * ON_32_BITS / 1024, "KB", f"64-bit figure times {ON_32_BITS}")
        )
    return found


def main() -> int:
    parser = argparse.ArgumentParser(description="What the firmware takes of the board's heap.")
    parser.add_argument("--frozen", action="store_true", help="the interpreter has the firmware frozen into it")
    frozen = parser.parse_args().frozen
    if OWN_INTERPRETER in os.environ:
        for name, taken, how in named(board_memory(frozen)):
            print(f"{name:<76}{taken / 1024:>8.0f} KB   {how}")
    else:
        if frozen:
            parser.error(f"--frozen needs an interpreter with the firmware in it: name it in {OWN_INTERPRETER}")
        for figure in figures():
            print(f"{figure.name:<76}{figure.value:>8.0f} {figure.unit}   {figure.how}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
