"""`panchime demo`: the main job from plan to log, on the virtual board, with the very commands that a person types."""

import argparse
import os
import sys
import tempfile
import time
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console

SCENARIO = "hot-air-popper-mild"
PLAN_FILE = "window-sill.toml"
# Tells the two kinds of line apart without colour: what the person does, and what the board does.
SIGNS = {"person": "hand ", "cue": "SOUND", "mark": "mark ", "relay": "RELAY", "stage": "stage", "trip": "TRIP "}
STYLES = {"cue": "bold", "relay": "bold", "trip": "bold reverse", "person": "dim", "stage": "dim"}


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    parser = commands.add_parser(
        "demo",
        help="see a whole roast on a virtual board, without any hardware",
        description="Starts a virtual board that runs the real board's program, sends it an invented plan, roasts, tells every "
        "sound, mark and relay change, then pulls the log, lists it, draws it and writes it as CSV. "
        "Nothing of it enters your journal.",
    )
    parser.add_argument(
        "--speed", type=float, default=0, metavar="N", help="1 is real time; 0, as usual here, as fast as it goes"
    )
    parser.add_argument("--scenario", default=SCENARIO, metavar="NAME", help=f"which virtual roast (default: {SCENARIO})")
    parser.add_argument(
        "--folder", type=Path, metavar="FOLDER", help="where plan, journal and CSV go (default: a new temporary folder)"
    )
    parser.add_argument("--interpreter", choices=("auto", "micropython", "cpython"), default="auto", help=argparse.SUPPRESS)


def run(options: argparse.Namespace) -> int:
    """Runs the demonstration; 0 when every step of it worked."""
    from panchime.data_folder import VARIABLE
    from panchime.terminal.output import console

    folder = options.folder or Path(tempfile.mkdtemp(prefix="panchime-demo-"))
    folder.mkdir(parents=True, exist_ok=True)
    before = os.environ.get(VARIABLE)
    # The demonstration's journal is its own: invented roasts do not belong among the person's.
    os.environ[VARIABLE] = str(folder)
    try:
        return demonstrate(console(), options, folder)
    finally:
        if before is None:
            del os.environ[VARIABLE]
        else:
            os.environ[VARIABLE] = before


def demonstrate(out: "Console", options: argparse.Namespace, folder: Path) -> int:
    from panchime.demo.roasting import follow_roast
    from panchime.link.board import Board
    from panchime.planfile.reading import checked, read_plan
    from panchime.terminal.words import clock, degrees
    from panchime.virtual.board import VirtualBoard

    plan_path = folder / PLAN_FILE
    plan_path.write_text(resources.files("panchime.demo").joinpath(PLAN_FILE).read_text(encoding="utf-8"), encoding="utf-8")
    flash = folder / "flash.img"

    title(out, "A plan is checked, and sent to a virtual board")
    # The board is started anew for the roast: the plan must have outlived the power cut between.
    with VirtualBoard(flash=flash, speed=1, interpreter=options.interpreter) as virtual:
        out.print(f"virtual board on {virtual.port}, firmware on {spelled(virtual.interpreter)}", markup=False, highlight=False)
        command(out, "plan", "check", str(plan_path))
        command(out, "plan", "send", str(plan_path), "--port", virtual.port)

    title(out, "The roast, without a computer: one button, one piezo, one light")
    begun = time.monotonic()

    def say(t_ms: float, probe_c: float | None, what: str, words: str) -> None:
        temperature = degrees(None if probe_c is None else round(probe_c * 100))
        line = f"{clock(round(t_ms)):>6} {temperature:>7}  {SIGNS[what]}  {words}"
        out.print(line, style=STYLES.get(what), markup=False, highlight=False)

    with VirtualBoard(flash=flash, speed=options.speed, scenario=options.scenario, interpreter=options.interpreter) as virtual:
        with Board.connect(virtual.port) as board:
            board.set_clock()
            told = follow_roast(virtual, board, checked(read_plan(str(plan_path))), say)
        wall_s = time.monotonic() - begun
        virtual_min = virtual.now_ms / 60000
        out.print(f"\n{told.cues} sounds, {virtual_min:.0f} minutes of the board's time in {wall_s:.0f} s", highlight=False)

        title(out, "Afterwards: the log is pulled over the serial port and kept")
        command(out, "pull", "--port", virtual.port)
    command(out, "roasts")
    command(out, "show", "1")
    command(out, "export", "1", "--csv", str(folder / "roast-1.csv"), "--force")
    out.print(f"\nEverything is in {folder}. Yours next: 'panchime plan new skillet'.", markup=False, highlight=False)
    return 0


def title(out: "Console", text: str) -> None:
    out.print()
    out.rule(text, align="left", style="bold")


def command(out: "Console", *words: str) -> None:
    """Shows a command as the person would type it, and runs it. Ends the demonstration when it fails."""
    from panchime.cli.main import main
    from panchime.terminal.command_line import command_line

    out.print(f"$ {command_line(words)}", style="bold", markup=False, highlight=False, soft_wrap=True)
    sys.stdout.flush()
    status = main(words)
    if status:
        from panchime.errors import PanchimeError

        raise PanchimeError(f"the demonstration stopped at 'panchime {words[0]}' (exit status {status})")


def spelled(interpreter: str) -> str:
    """The interpreter in words, and what it means when it is not the real one."""
    if interpreter == "micropython":
        return "MicroPython"
    return "CPython (there is no MicroPython build for this machine)"
