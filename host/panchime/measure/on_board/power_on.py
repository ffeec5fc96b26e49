"""From nothing to the first reading that is trusted and judged by the cutoff, as main.py does it, on a board without pins.

Usage: power_on.py FIRMWARE_FOLDER FRAMES_FILE FLASH_FOLDER STEP_MS

A pass follows the last by STEP_MS. Prints the milliseconds of the board's clock that went by.
"""

import sys

sys.path.insert(0, __file__.rsplit("/", 1)[0])

import firmware

firmware.enter(sys.argv[1])

from bare_board import Bench


def main() -> None:
    with open(sys.argv[2], "rb") as file:
        frames = file.read(64)
    bench = Bench(frames, sys.argv[3])
    begin_ms = bench.board.now_ms
    while not bench.chain.trusted:
        bench.board.now_ms += int(sys.argv[4])
        bench.loop.step()
    assert bench.session.sampled
    print(bench.board.now_ms - begin_ms)


main()
