"""What every command needs that talks to a board: ``--port``, choosing the only one, and the first words."""

import argparse
import sys

from panchime.errors import LinkError, PanchimeError
from panchime.link.board import Board
from panchime.link.finding import Found, ask_all
from panchime.link.ports import Candidate, every_port, named_ports
from panchime.terminal.output import note
from panchime.terminal.safe_text import safe_line


def add_port_option(parser: argparse.ArgumentParser) -> None:
    """Gives a command the option to name the board's port."""
    parser.add_argument(
        "--port",
        metavar="PORT",
        help="which board, by its port as 'panchime find' lists it; needed only when several are connected "
        "(setting PANCHIME_PORT does the same)",
    )


# Said once a board, where it cannot be overlooked.
FIRST_MEETING = (
    "panchime: this board is new here. Read SAFETY.md before anything gets hot: fire, burns, smoke and carbon monoxide, mains. "
    "Its relay cutoff is never the sole protection, and no roast is ever left alone."
)


def open_board(port: str | None) -> Board:
    """The board to talk to, its clock set, the moment written into the journal.

    Without a port it is the only one that answers. Raises LinkError that says which there are when it is not
    the only one.
    """
    board = Board.connect(port if port else chosen_port())
    try:
        board.set_clock()
        remember(board)
    except BaseException:
        board.client.close()
        raise
    return board


def remember(board: Board) -> None:
    """Writes the connection into the journal.

    A journal that cannot be written is no reason not to talk to the board.
    """
    from panchime.journal.journal import Journal

    anchor = board.anchor()
    try:
        with Journal() as journal:
            is_new = not journal.anchors(board.identity.serial)
            journal.meet(board.identity, anchor)
        if is_new:
            note(FIRST_MEETING)
    except LinkError:
        raise
    except PanchimeError as error:
        note(f"panchime: this connection is not in the journal, roasts may stay undated: {error}")


def chosen_port() -> str:
    """The port of the only board there is, or the one the person chooses."""
    named = named_ports()
    if len(named) == 1:
        return named[0].url
    found = ask_all(named or every_port())
    boards = [one for one in found if one.identity is not None]
    if len(boards) == 1:
        return boards[0].candidate.url
    if boards:
        if sys.stdin.isatty() and sys.stderr.isatty():
            return ask_person(boards)
        raise LinkError("\n".join(["several boards answer; say which with --port:", *(f"  {line(one)}" for one in boards)]))
    raise LinkError(nobody(found))


def ask_person(boards: list[Found]) -> str:
    """The port of the board the person chooses by its number."""
    print("Several boards answer:", file=sys.stderr)
    for number, one in enumerate(boards, start=1):
        print(f"  {number}  {safe_line(line(one))}", file=sys.stderr)
    while True:
        print(f"Which one (1 to {len(boards)})? ", end="", file=sys.stderr, flush=True)
        answer = sys.stdin.readline()
        if not answer:
            raise LinkError("no board was chosen; say which with --port")
        if answer.strip().isdigit() and 1 <= int(answer) <= len(boards):
            return boards[int(answer) - 1].candidate.url


def line(one: Found) -> str:
    """A board in one line: its port and who it is."""
    assert one.identity is not None
    return f"{one.candidate.url}  {one.identity.model} {one.identity.serial}, firmware {one.identity.firmware}"


def nobody(found: list[Found]) -> str:
    """Why there is no board: what each port said that may hold one."""
    suspects = [one for one in found if one.at_prompt or one.candidate.kind != "usb" or is_pico(one.candidate)]
    if suspects:
        return "\n".join(["no board answers:", *(f"  {one.trouble}" for one in suspects)])
    return (
        "no board is connected. Plug one in with a USB cable that carries data, or try without any hardware: "
        "'panchime virtual' runs a virtual board, 'panchime demo' roasts on one"
    )


def is_pico(candidate: Candidate) -> bool:
    """Whether the USB port says that it belongs to a board with MicroPython."""
    return any(word in candidate.description for word in ("Pico", "MicroPython", "Board in FS mode"))
