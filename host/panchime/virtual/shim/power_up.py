"""Power-up of the virtual board in MicroPython: mount the flash, run boot.py and main.py as the board does."""

import os
import sys
import time  # the virtual one must be loaded while the shim can still be found

import machine
import vfs
import world_link
from flash_image import PROGRAM_BYTES, FlashImage


def run_file(name, names):
    """Run one file of the flash in the prompt's own names, as the board does. False when it asked for a soft reset."""
    try:
        with open(name) as file:
            text = file.read()
    except OSError:
        return True
    try:
        exec(compile(text, name, "exec"), names)
    except SystemExit:
        return False
    except BaseException as error:
        sys.print_exception(error)
        if isinstance(error, KeyboardInterrupt):
            raise  # on to the prompt: after an interrupted boot.py no main.py begins (from memory of the board's own start)
    return True


def prompt_next():
    """Ask for quiet on the line until the prompt stands: a Ctrl-C on the way there would end the interpreter."""
    world_link.exchange(world_link.PROMPT_NEXT, 0, 0, 0)
    print(os.getenv("PANCHIME_END_MARK"), end="")


def power_up(names):
    image = os.getenv("PANCHIME_FLASH")
    run = os.getenv("PANCHIME_RUN")
    machine._reset_cause = world_link.hello()
    flash = FlashImage(image, world_link)
    vfs.umount("/")
    vfs.mount(vfs.VfsLfs2(flash, progsize=PROGRAM_BYTES), "/")
    os.chdir("/")
    sys.path[:] = ["", ".frozen", "/lib"]
    del sys.argv[1:]
    world_link.post(world_link.MOUNTED, 0, 0, 0)
    going = run == "nothing" or run_file("boot.py", names)
    # A tool that entered the raw prompt gets boot.py, but not main.py.
    if going and run == "all":
        going = run_file("main.py", names)
    if not going:
        world_link.exchange(world_link.SOFT_RESET, 0, 0, 0)
