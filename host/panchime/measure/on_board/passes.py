"""Passes of the loop in a roast: how many of them as asked, and what they took.

Usage: passes.py FIRMWARE_FOLDER FRAMES_FILE FLASH_FOLDER KIND COUNT

KIND is `sample` or `idle`; an idle pass is one between two samples, after COUNT samples of roasting. Prints microseconds
for all of them. Runs in MicroPython and in CPython.
"""

import gc
import sys
import time

sys.path.insert(0, __file__.rsplit("/", 1)[0])

import firmware

firmware.enter(sys.argv[1])

from bare_board import Bench

if hasattr(time, "ticks_us"):
    now_us = time.ticks_us  # a run is far shorter than its wrap
else:

    def now_us() -> float:
        return time.perf_counter() * 1e6


# Windows are full and beans are in.
WARM_UP = 400


def main() -> None:
    kind = sys.argv[4]
    count = int(sys.argv[5])
    with open(sys.argv[2], "rb") as file:
        frames = file.read()
    bench = Bench(frames, sys.argv[3])
    bench.start()
    for _ in range(WARM_UP):
        bench.sample_pass()
    step = bench.sample_pass if kind == "sample" else bench.idle_pass
    gc.collect()
    begin = now_us()
    for _ in range(count):
        step()
    print(now_us() - begin)


main()
