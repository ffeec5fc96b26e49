"""Opening a serial port, with advice when it does not open."""

import errno
import os
import sys
from typing import TYPE_CHECKING

from panchime.errors import LinkError

if TYPE_CHECKING:
    import serial

BAUD = 115200  # USB ignores it; a real UART bridge would need one
READ_SLICE_S = 0.05  # how long one read of the port may wait; deadlines are counted above it
WRITE_TIMEOUT_S = 3.0


def open_port(url: str) -> "serial.Serial":
    """The open port: a device path, or a URL such as ``socket://localhost:7000``.

    A device is opened for this program alone, so that two programs never share one answer.
    Raises LinkError with advice when the port is missing, busy, or not permitted.
    """
    import serial

    try:
        if "://" in url or os.name == "nt":
            return serial.serial_for_url(url, BAUD, timeout=READ_SLICE_S, write_timeout=WRITE_TIMEOUT_S)
        return serial.Serial(url, BAUD, timeout=READ_SLICE_S, write_timeout=WRITE_TIMEOUT_S, exclusive=True)
    except (serial.SerialException, OSError, ValueError) as error:
        raise LinkError(f"port {url} does not open: {advice(url, error)}") from error


def advice(url: str, error: Exception) -> str:
    """What most likely keeps the port shut and the way out."""
    number = getattr(error, "errno", None)
    words = str(error)
    if "://" in url:
        return f"{reason(error)}. Is the virtual board still running? 'panchime find' lists what answers"
    if number == errno.EBUSY or "exclusively lock" in words or (os.name == "nt" and "PermissionError" in words):
        return "another program holds it. Close that program (a serial monitor, another 'panchime watch') and try again"
    if number == errno.EACCES or "PermissionError" in words:
        if sys.platform.startswith("linux"):
            return (
                "you are not permitted to use it. Add yourself to the group that owns it, most often "
                "'sudo usermod -aG dialout $USER', log out and in again"
            )
        return "you are not permitted to use it. Check the rights of the device"
    if number == errno.ENOENT or "FileNotFoundError" in words:
        return (
            "there is no such port. Is the board plugged in, with a cable that carries data? "
            "'panchime find' lists the boards that answer"
        )
    return f"{reason(error)}. Unplug the board, plug it in again and try once more"


def reason(error: Exception) -> str:
    """The operating system's own words, without pyserial's wrapping where they can be told apart."""
    cause = error.__context__ if isinstance(error.__context__, OSError) else error
    return getattr(cause, "strerror", None) or str(cause)
