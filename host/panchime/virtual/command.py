"""`panchime virtual`: a virtual board in this terminal until Ctrl-C."""

import argparse
import contextlib
import os
import signal
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from panchime.data_folder import data_folder, virtual_folder
from panchime.errors import PanchimeError


def register(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    from panchime.virtual.roaster.scenario import scenario_names

    parser = subparsers.add_parser(
        "virtual",
        help="run a virtual board, to try everything without hardware",
        description="Runs the real board's program with pretend beans, heat and probe. While it runs, every other command "
        "finds it as if it were plugged in: leave it open and use a second window. Ctrl-C ends it.",
    )
    parser.add_argument(
        "--speed", type=float, default=1.0, metavar="N", help="1 real time (default), N times faster, 0 as fast as it can"
    )
    parser.add_argument(
        "--scenario",
        metavar="NAME|FILE",
        help="a virtual roast: one of these, or a file: " + ", ".join(scenario_names()),
    )
    parser.add_argument("--chip", default="MAX31855", metavar="NAME", help="the amplifier chip (default: MAX31855)")
    parser.add_argument("--thermocouple", choices=list("KJNTE"), default="K", help="the probe's type (default: K)")
    parser.add_argument("--seed", type=int, default=0, metavar="N", help="another number is another day and other beans")
    others = parser.add_argument_group("for programmers")
    others.add_argument("--port-file", type=Path, metavar="FILE", help="write the ports into this file, as JSON")
    others.add_argument("--flash", type=Path, metavar="FILE", help="the board's flash (default: kept in the data folder)")
    others.add_argument("--tcp", type=int, default=0, metavar="PORT", help="serial port over TCP (default: any free port)")
    others.add_argument("--control", type=int, default=0, metavar="PORT", help="control channel (default: any free port)")
    others.add_argument("--firmware", type=Path, metavar="DIR", help="the firmware folder (default: this package's own)")
    others.add_argument("--keep-firmware", action="store_true", help="do not copy the firmware onto the flash")
    others.add_argument(
        "--interpreter",
        choices=["auto", "micropython", "cpython"],
        default="auto",
        help="what runs the firmware (default: MicroPython where there is one)",
    )
    others.add_argument("--board-id", default="E6614103E7A1B2C3", metavar="HEX", help="the board's serial number")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Runs until Ctrl-C, or until the firmware cannot be started. Returns the exit status."""
    from panchime.virtual.board import VirtualBoard
    from panchime.virtual.interpreter import micropython_command

    _check(args)
    interpreter = args.interpreter
    if interpreter == "auto":
        interpreter = "cpython" if micropython_command() is None else "micropython"
    flash = args.flash or data_folder() / f"virtual-flash-{args.board_id}.{_kind(interpreter)}"
    with _locked(flash):
        board = VirtualBoard(
            args.firmware,
            flash=flash,
            keep_firmware=args.keep_firmware,
            speed=args.speed,
            scenario=args.scenario,
            seed=args.seed,
            interpreter=interpreter,
            board_id=args.board_id,
            chip=args.chip,
            thermocouple=args.thermocouple,
            tcp_port=args.tcp,
            control_port=args.control,
        )
        with board:
            more: dict[str, Any] = {"port": board.port, "pid": os.getpid(), "interpreter": interpreter}
            files = [virtual_folder() / f"{os.getpid()}.json", *([args.port_file] if args.port_file else [])]
            for file in files:
                board.world.write_port_file(file, more)
            try:
                _introduce(board.port, board.socket_url, board.control_url, interpreter)
                return _wait(board)
            finally:
                for file in files:
                    file.unlink(missing_ok=True)


def _wait(board: Any) -> int:
    pause = threading.Event()
    # A polite end by another program cleans up just as Ctrl-C does.
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    with contextlib.suppress(KeyboardInterrupt):
        while not pause.wait(0.2):
            if board.world.failed:
                raise PanchimeError(f"the virtual board has ended: {board.world.failed}")
    return 0


def _introduce(port: str, url: str, control: str, interpreter: str) -> None:
    print(f"serial port   {port}")
    print(f"over TCP      {url}")
    print(f"control       {control}")
    if interpreter == "cpython":
        print(
            "This computer has no MicroPython interpreter, or CPython was asked for: the firmware runs on CPython. "
            "The prompt and tools such as mpremote are not there.",
            file=sys.stderr,
        )
    print("Ctrl-C ends the virtual board.", flush=True)


def _check(args: argparse.Namespace) -> None:
    if not 0 <= args.speed <= 10000:
        raise PanchimeError(f"--speed {args.speed:g}: give 0 (as fast as it can) or up to 10000 times real time")
    try:
        whole = bytes.fromhex(args.board_id)
    except ValueError:
        whole = b""
    if len(whole) != 8:
        raise PanchimeError(f"--board-id {args.board_id!r}: a Pico's serial number is 16 hexadecimal digits")


def _kind(interpreter: str) -> str:
    return "image" if interpreter == "micropython" else "folder"


@contextlib.contextmanager
def _locked(flash: Path) -> Iterator[None]:
    """Keeps two virtual boards from writing to one flash, where the system has file locks."""
    try:
        import fcntl
    except ImportError:
        yield
        return
    flash.parent.mkdir(parents=True, exist_ok=True)
    lock = flash.with_name(flash.name + ".lock")
    with lock.open("w") as handle:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            raise PanchimeError(
                f"another virtual board uses the flash {flash}: end it, or give this one its own with --flash"
            ) from error
        yield
