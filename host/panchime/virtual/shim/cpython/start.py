"""Power-up of the virtual board on CPython: the board's modules in place, then boot.py and main.py from the flash folder."""

import importlib
import os
import sys
import traceback
import types
from pathlib import Path

HERE = Path(__file__).parent
# The shared shim holds its own time.py for MicroPython: it must come last, CPython's own has to win.
sys.path[:] = ["", *[entry for entry in sys.path[1:] if entry], str(HERE.parent)]
sys.path.insert(1, str(HERE))

import time  # noqa: E402

import serial_stream  # noqa: E402
import world_link  # noqa: E402

for name in ("ticks_ms", "ticks_us", "ticks_diff", "ticks_add", "sleep_ms", "sleep_us", "sleep"):
    setattr(time, name, getattr(world_link, name))
time.ticks_cpu = world_link.ticks_us
time.time = world_link.clock_s
time.time_ns = lambda: world_link.clock_s() * 1_000_000_000


def statvfs(path):
    """The size of the board's flash, not of this computer's disk: 352 blocks of 4096 bytes."""
    used = sum(-(-file.stat().st_size // 4096) for file in Path(path).rglob("*") if file.is_file())
    free = max(0, 352 - used)
    return (4096, 4096, 352, free, free, 0, 0, 0, 0, 255)


os.statvfs = statvfs

micropython = types.ModuleType("micropython")
micropython.const = lambda value: value
micropython.heap_lock = lambda: None
micropython.heap_unlock = lambda: None
micropython.kbd_intr = lambda character: None
micropython.opt_level = lambda level=0: 0
for decorator in ("native", "viper"):
    setattr(micropython, decorator, lambda function: function)
sys.modules["micropython"] = micropython

machine = importlib.import_module("machine")
sys.modules["select"] = serial_stream.select_module()


def run_file(name, names):
    """Run one file of the flash as the board does. False when it asked for a soft reset."""
    file = Path(name)
    if not file.exists():
        return True
    try:
        exec(compile(file.read_text(encoding="utf-8"), name, "exec"), names)
    except SystemExit:
        return False
    except BaseException as error:
        sys.stdout.write(traceback.format_exc())
        sys.stdout.flush()
        if isinstance(error, KeyboardInterrupt):
            raise  # as in MicroPython's power_up.py
    return True


line = serial_stream.Line(int(os.environ["PANCHIME_SERIAL"]))
sys.stdin, sys.stdout = serial_stream.Input(line), serial_stream.Output(line)
sys.stderr = sys.stdout
machine._reset_cause = world_link.hello()
world_link.post(world_link.MOUNTED, 0, 0, 0)
names = {"__name__": "__main__"}
going = True
try:
    going = run_file("boot.py", names)
    if going and os.environ["PANCHIME_RUN"] == "all":
        going = run_file("main.py", names)
except KeyboardInterrupt:
    pass
if not going:
    world_link.exchange(world_link.SOFT_RESET, 0, 0, 0)
sys.stdout.write(os.environ["PANCHIME_END_MARK"])
sys.stdout.write("The firmware has stopped. On CPython there is no prompt: Ctrl-D starts the board again.\n")
sys.stdout.flush()
line.wait_for_restart()
