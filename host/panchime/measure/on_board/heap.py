"""Bytes of heap that a roast takes and does not give back before the next collection, measured with collections off.

Usage: heap.py FIRMWARE_FOLDER FRAMES_FILE FLASH_FOLDER COUNT

Prints: the most that one sample took on the way from frame to relay and log; the mean and the most of whole passes with a
sample; the mean of passes without one.
"""

import gc
import sys

sys.path.insert(0, __file__.rsplit("/", 1)[0])

import firmware

firmware.enter(sys.argv[1])

from bare_board import SAMPLE_MS, Bench

WARM_UP = 400


def taken(work) -> int:
    before = gc.mem_alloc()
    work()
    return gc.mem_alloc() - before


def main() -> None:
    with open(sys.argv[2], "rb") as file:
        frames = file.read()
    count = int(sys.argv[4])
    bench = Bench(frames, sys.argv[3])
    bench.start()
    for _ in range(WARM_UP):
        bench.sample_pass()

    def frame_to_relay() -> None:
        bench.board.now_ms += SAMPLE_MS
        bench.session.on_sample(bench.chain.read(), bench.board.now_ms)

    gc.collect()
    gc.disable()
    most_in_path = 0
    for _ in range(count):
        most_in_path = max(most_in_path, taken(frame_to_relay))
        bench.session.step_flash(bench.board.now_ms)
    gc.collect()
    whole = 0
    most = 0
    for _ in range(count):
        bytes_taken = taken(bench.sample_pass)
        whole += bytes_taken
        most = max(most, bytes_taken)
    idle = 0
    for _ in range(count):
        idle += taken(bench.idle_pass)
    print(most_in_path, whole / count, most, idle / count)


main()
