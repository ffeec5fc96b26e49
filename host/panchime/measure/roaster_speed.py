"""How fast virtual time passes: a roast on the virtual board, the firmware on MicroPython and on CPython, in turns."""

from panchime.measure.figure import Figure
from panchime.measure.repeats import Turns, in_turns
from panchime.virtual.board import VirtualBoard
from panchime.virtual.interpreter import micropython_command

SCENARIO = "skillet-mild"
HOLD_MS, PRESS_MS, BEGIN_MS = 1000, 2500, 5000
VIRTUAL_S = 120
TURNS = 3


def roast_for(board: VirtualBoard) -> None:
    board.run_for(VIRTUAL_S * 1000)


def speeds() -> Turns:
    """Wall seconds of VIRTUAL_S seconds of a roast that runs: ours on MicroPython, theirs on CPython."""
    with (
        VirtualBoard(interpreter="micropython", hold_at_ms=HOLD_MS, scenario=SCENARIO) as ours,
        VirtualBoard(interpreter="cpython", hold_at_ms=HOLD_MS, scenario=SCENARIO) as theirs,
    ):
        for board in (ours, theirs):
            board.press("short", at_ms=PRESS_MS)
            board.run_until(BEGIN_MS)
        return in_turns(lambda: roast_for(ours), lambda: roast_for(theirs), TURNS)


def speed_figures() -> list[Figure]:
    """Virtual seconds a second; without MicroPython none."""
    if micropython_command() is None:
        print("   there is no MicroPython for this computer: the virtual roaster's speed is left out")
        return []
    turns = speeds()
    how = f"{VIRTUAL_S} s of a skillet roast that runs, median of {TURNS}, in turns"
    ratio = turns.theirs_s / turns.ours_s
    return [
        Figure("virtual roaster, firmware on MicroPython", VIRTUAL_S / turns.ours_s, "s/s", how, "the firmware on CPython",
               ratio, turns.ratio.noise, less_is_better=False),
        Figure("virtual roaster, firmware on CPython", VIRTUAL_S / turns.theirs_s, "s/s", how, "the firmware on MicroPython",
               1 / ratio, turns.ratio.noise, less_is_better=False),
    ]  # fmt: skip
