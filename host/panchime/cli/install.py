"""`panchime install`: puts the firmware on a board, or brings it up to date."""

import argparse
import sys
import time
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from panchime.errors import LinkError, PanchimeError

if TYPE_CHECKING:
    from panchime.install.files import BoardFile
    from panchime.install.installing import Changes
    from panchime.install.prompt import Facts, Prompt
    from panchime.link.finding import Found

RESTART_PATIENCE_S = 30.0

# What state the board is in when Ctrl-C comes, and what to do.
UNTOUCHED = "The board was not touched. Repeat 'panchime install' when you like."
STOPPED = (
    "Nothing on the board was changed, but its program was stopped: its relay is open and it neither sounds nor guards. "
    "Repeat 'panchime install', or unplug the board and plug it in again, and it runs as before."
)
HALF_WRITTEN = (
    "The board is half written: it runs nothing, its relay stays open, and it neither sounds nor guards. "
    "Repeat 'panchime install': it goes on where it stopped. Plans and roasts on the board are untouched."
)
WRITTEN = (
    "The firmware is on the board as a whole, but its self-test was not waited for. "
    "Unplug the board, plug it in again, and look with 'panchime check'."
)


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    parser = commands.add_parser(
        "install",
        help="put Panchime on a new board, or bring it up to date",
        description="Copies Panchime's program for the board (its firmware) onto a board that has MicroPython, only what "
        "changed, and reads each file again. "
        "Plans, settings and roasts stay. A cable pulled on the way leaves a board whose relay stays open and that can be "
        "installed again.",
    )
    parser.add_argument("--port", metavar="PORT", help="which board, by its port (default: the only board there is)")
    parser.add_argument("--check", action="store_true", help="say what would change, and change nothing")
    others = parser.add_argument_group("for programmers")
    others.add_argument("--plain", action="store_true", help="copy the sources as they are, not compiled")
    others.add_argument(
        "--firmware", type=Path, metavar="FOLDER", help="another firmware (default: the one that came with this program)"
    )


def run(options: argparse.Namespace) -> int:
    """Installs; 0 when the board runs the new firmware and passed its self-test."""
    from panchime.cli.main import EXIT_INTERRUPTED
    from panchime.install.files import firmware_files
    from panchime.install.installing import changes, must_fit
    from panchime.terminal.output import note
    from panchime.virtual.board import default_firmware

    files = firmware_files(options.firmware or default_firmware(), compiled=not options.plain)
    state = UNTOUCHED
    try:
        port = options.port or only_port()
        state = STOPPED
        into_maintenance(port)
        with reach_prompt(port) as prompt:
            facts = prompt.facts()
            on_board = prompt.sums()
            change = changes(files, on_board)
            must_fit(facts, files, change, on_board)
            tell(facts, change)
            warn_of_memory(facts)
            if options.check:
                prompt.restart()
                note("Nothing was changed; the board was restarted to look.")
                return 0
            if change.any:
                state = HALF_WRITTEN
            install_with_progress(prompt, files, change)
            state = WRITTEN
            prompt.restart()
        return after_restart(port)
    except KeyboardInterrupt:
        note(f"Interrupted. {state}")
        return EXIT_INTERRUPTED


def only_port() -> str:
    """The port of the only board there is: one that runs Panchime, or one that has MicroPython and nothing yet."""
    from panchime.link.finding import ask_all
    from panchime.link.ports import every_port

    found = [one for one in ask_all(every_port()) if one.identity is not None or is_prompt(one)]
    if len(found) == 1:
        return found[0].candidate.url
    if not found:
        raise PanchimeError(
            "no board was found. Is it plugged in with a cable that carries data? A new one needs MicroPython first: "
            "hold BOOTSEL, plug it in, copy the MicroPython file for your board onto the drive that appears"
        )
    ports = ", ".join(one.candidate.url for one in found)
    raise PanchimeError(f"there are {len(found)} boards ({ports}): say which with --port")


def is_prompt(found: "Found") -> bool:
    return found.trouble != "" and "prompt" in found.trouble


def into_maintenance(port: str) -> None:
    """Restarts a board that runs Panchime into its prompt; an armed watchdog would otherwise bite in the middle."""
    from panchime.link.board import Board

    try:
        with Board.connect(port) as board:
            if board.roast_runs():
                raise PanchimeError("a roast runs on the board: stop it first, then install")
            with suppress(LinkError):  # the port goes away as soon as the command is read
                board.client.command("SYSTem:MAINtenance")
    except LinkError:
        return  # no Panchime there, or an older one: Ctrl-C brings the prompt
    time.sleep(0.5)


def reach_prompt(port: str) -> "Prompt":
    from panchime.install.prompt import wait_for_prompt

    return wait_for_prompt(port, RESTART_PATIENCE_S)


def tell(facts: "Facts", change: "Changes") -> None:
    from panchime.install.installing import dotted
    from panchime.terminal.safe_text import safe_line
    from panchime.terminal.words import size

    name = facts.machine or facts.platform
    print(f"{safe_line(name)}, MicroPython {dotted(facts.version)}, {size(facts.free_bytes)} free")
    if not change.any:
        print(f"the firmware is up to date: {change.same} files")
        return
    new = size(sum(len(file.content) for file in change.write))
    print(f"{len(change.write)} files to write ({new}), {len(change.remove)} old ones to remove, {change.same} stay")


def warn_of_memory(facts: "Facts") -> None:
    """A board that cannot hold the program would end at the prompt with a MemoryError, and say so to nobody."""
    from panchime.install.installing import HEAP_NEEDED_BYTES
    from panchime.terminal.output import note
    from panchime.terminal.words import size

    if facts.heap_bytes < HEAP_NEEDED_BYTES:
        note(
            f"This board has {size(facts.heap_bytes)} of memory free, and a roast takes about {size(HEAP_NEEDED_BYTES)}: "
            "it will hardly run. A Pico has enough; for this one see 'Flash and memory' in firmware/README.md."
        )


def install_with_progress(prompt: "Prompt", files: "list[BoardFile]", change: "Changes") -> None:
    """A progress bar on a terminal, silence elsewhere."""
    from panchime.install.installing import install

    if not sys.stderr.isatty():
        install(prompt, files, change, lambda path, count: None)
        return
    from rich.console import Console
    from rich.progress import BarColumn, DownloadColumn, Progress, TextColumn

    columns = (TextColumn("{task.description}", markup=False), BarColumn(), DownloadColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bars:
        task = bars.add_task("firmware", total=sum(len(file.content) for file in change.write))
        install(prompt, files, change, lambda path, count: bars.update(task, description=path, advance=count))


def after_restart(port: str) -> int:
    """Waits for the new firmware, lets it test itself, and says what to do next."""
    from panchime.link.board import Board
    from panchime.link.probe import self_test
    from panchime.terminal.output import note

    deadline = time.monotonic() + RESTART_PATIENCE_S
    while True:
        try:
            with Board.connect(port) as board:
                board.set_clock()
                time.sleep(1.5)  # the first frames tell whether the amplifier is the right one
                result, words = self_test(board)
                print(f"installed: Panchime {board.identity.firmware} runs on {board.identity.model} {board.identity.serial}")
            break
        except LinkError:
            if time.monotonic() > deadline:
                raise
            time.sleep(0.5)
    if result:
        note(f"Its self-test is not content yet: {words}. 'panchime check' says what to do about each.")
    note(
        "Next: read SAFETY.md, then 'panchime check' and, with a lamp in the switched socket, 'panchime check --cutoff'; "
        "then 'panchime plan new'."
    )
    return 0
