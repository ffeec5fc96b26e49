"""Passes of the loop while a plan is sent, with a sample in a roast, and while a log is pulled in it: microseconds, one a line.

Usage: longest_pass.py FIRMWARE_FOLDER FRAMES_FILE FLASH_FOLDER LOG_FILE PLAN_FILE

PLAN_FILE holds the whole message that sends the plan. A pass follows the last by 4 ms, as on the board, or by a sample.
"""

import gc
import sys
import time

sys.path.insert(0, __file__.rsplit("/", 1)[0])

import firmware

firmware.enter(sys.argv[1])

from bare_board import IDLE_MS, SAMPLE_MS, Bench

PULLED = "000900.roast"
WARM_UP = 400
USUAL_PASSES = 100
PULL_PASSES = 900
PLAN_PASSES = 400


def read(path: str) -> bytes:
    with open(path, "rb") as file:
        return file.read()


def timed(bench: Bench, name: str, passes: int, apart_ms: int = IDLE_MS) -> None:
    for _ in range(passes):
        bench.board.now_ms += apart_ms
        begin = time.ticks_us()
        bench.loop.step()
        print(name, time.ticks_diff(time.ticks_us(), begin))


def main() -> None:
    bench = Bench(read(sys.argv[2]), sys.argv[3])
    for _ in range(8):
        bench.sample_pass()
    plan = read(sys.argv[5])
    bench.board.send(plan)
    timed(bench, "plan", PLAN_PASSES)
    assert not bench.instrument.status.error_count(), "the plan was refused"
    bench.start()
    with open(sys.argv[3] + "/log/" + PULLED, "wb") as file:
        file.write(read(sys.argv[4]))
    for _ in range(WARM_UP):
        bench.sample_pass()
    timed(bench, "usual", USUAL_PASSES, SAMPLE_MS)
    gc.collect()
    before = bench.board.output_bytes
    bench.board.send(b'MMEMory:DATA? "' + PULLED.encode() + b'"\n')
    timed(bench, "pull", PULL_PASSES)
    assert bench.board.output_bytes - before >= 100000, "the log did not come"


main()
