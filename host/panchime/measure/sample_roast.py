"""The log of one virtual roast, as a board writes it: what sizes and speeds are measured on."""

from functools import cache
from pathlib import Path

from panchime.link.board import Board
from panchime.virtual.board import VirtualBoard

SCENARIO = "skillet-mild"
LONGEST_MS = 1_500_000


@cache
def pulled_roast() -> bytes:
    """The whole log of a skillet roast on a mild day with the built-in plan, by the firmware on the virtual board."""
    return roast_once()


def roast_once(flash: Path | None = None) -> bytes:
    """As `pulled_roast`, roasted anew; with ``flash`` by the firmware that lies on that flash."""
    with VirtualBoard(flash=flash, keep_firmware=flash is not None, speed=0, hold_at_ms=1000, scenario=SCENARIO) as virtual:
        virtual.press("short", at_ms=2500)
        virtual.run_until(LONGEST_MS)
        virtual.set_speed(1)
        virtual.go()
        with Board.connect(virtual.socket_url) as board:
            (file,) = board.catalogue().files
            return board.read_log(file.name, 0, file.bytes)
