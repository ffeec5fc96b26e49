"""The link's figures: a pull, a question, a plan, each against what MicroPython's own tool does, in turns.

Two virtual boards stand side by side, each with its own interpreter and port: `mpremote` stops the firmware to copy, so ours
has to run on another. Both are at real speed.
"""

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from panchime.journal.journal import Journal
from panchime.journal.pulling import pull
from panchime.link.board import Board
from panchime.measure.board_files import PLAN
from panchime.measure.figure import Figure
from panchime.measure.pull_speed import BYTES, NAME, fetch_alone, virtual_port
from panchime.measure.repeats import Turns, in_turns
from panchime.planfile.reading import parse
from panchime.planfile.starters import starter
from panchime.planfile.wire import to_json

if TYPE_CHECKING:
    from mpremote.transport_serial import SerialTransport

PULL_TURNS = 7
SHORT_TURNS = 25
PULL_GOAL = 20.0


def link_figures() -> list[Figure]:
    """With one log of BYTES on either board."""
    from mpremote.transport_serial import SerialTransport

    with virtual_port(BYTES) as our_port, virtual_port(BYTES) as their_port, tempfile.TemporaryDirectory() as folder:
        transport = SerialTransport(their_port)
        try:
            transport.enter_raw_repl()
            with Board.connect(our_port) as board:
                return measured(board, transport, Path(folder))
        finally:
            transport.close()


def measured(board: Board, transport: "SerialTransport", folder: Path) -> list[Figure]:
    (file,) = board.catalogue().files
    plan = to_json(parse(starter(PLAN), PLAN).document)

    def pull_anew() -> None:
        (folder / "journal.sqlite").unlink(missing_ok=True)
        with Journal(folder / "journal.sqlite") as journal:
            pull(board, journal)

    def copy() -> None:
        assert len(transport.fs_readfile(f"log/{NAME}")) == file.bytes, "another length was copied"

    alone = in_turns(lambda: fetch_alone(board, file), copy, PULL_TURNS)
    pulled = in_turns(pull_anew, copy, PULL_TURNS)
    asked = in_turns(board.live, lambda: transport.eval("1"), SHORT_TURNS)
    sent = in_turns(lambda: board.define_plan(plan), lambda: transport.fs_writefile("plan", plan), SHORT_TURNS)
    return [
        speed_figure("pull, bytes alone", file.bytes, alone, "mpremote fs cp"),
        speed_figure("pull into the journal", file.bytes, pulled, "mpremote fs cp", PULL_GOAL),
        time_figure("a question and its answer", asked, "mpremote eval"),
        time_figure(f"a plan of {len(plan)} bytes sent, checked, kept and read back", sent, "mpremote fs cp"),
    ]


def speed_figure(name: str, length: int, turns: Turns, peer: str, goal: float | None = None) -> Figure:
    how = f"{length} bytes, virtual boards at real speed, median of {PULL_TURNS}, in turns"
    ratio = turns.theirs_s / turns.ours_s
    return Figure(
        name, length / turns.ours_s / 1000, "kB/s", how, peer, ratio, turns.ratio.noise, less_is_better=False, goal=goal
    )


def time_figure(name: str, turns: Turns, peer: str) -> Figure:
    how = f"virtual boards at real speed, median of {SHORT_TURNS}, in turns"
    return Figure(name, turns.ours_s * 1000, "ms", how, peer, turns.ratio.median, turns.ratio.noise)
