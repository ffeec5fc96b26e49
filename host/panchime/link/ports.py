"""Where a board may be: named ports, running virtual boards, USB serial ports."""

import json
import os
from dataclasses import dataclass
from pathlib import Path

from panchime.data_folder import virtual_folder

VARIABLE = "PANCHIME_PORT"
RASPBERRY_PI_USB_VENDOR = 0x2E8A  # usb.org's list of vendor ids


@dataclass(frozen=True)
class Candidate:
    """A port that may hold a board: its URL or device path, how it was found, and what the system calls it."""

    url: str
    kind: str  # "named", "virtual" or "usb"
    description: str = ""


def named_ports() -> list[Candidate]:
    """The ports of ``PANCHIME_PORT``, separated by commas."""
    named = os.environ.get(VARIABLE, "")
    return [Candidate(url.strip(), "named", f"from {VARIABLE}") for url in named.split(",") if url.strip()]


def virtual_ports() -> list[Candidate]:
    """The virtual boards that run now; what a board left behind when it died is passed over."""
    folder = virtual_folder()
    if not folder.is_dir():
        return []
    found = []
    for file in sorted(folder.glob("*.json")):
        candidate = virtual_port(file)
        if candidate is not None:
            found.append(candidate)
    return found


def virtual_port(file: Path) -> Candidate | None:
    """The port in one file of the virtual boards' folder, or None when it is unreadable or its process is gone."""
    try:
        entry = json.loads(file.read_text(encoding="utf-8"))
        pid, port = int(entry["pid"]), entry.get("port") or entry.get("url")
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None
    if not isinstance(port, str) or not is_running(pid):
        return None
    return Candidate(port, "virtual", "virtual board")


def is_running(pid: int) -> bool:
    """Whether a process of that number runs. Where the system cannot say without harm, the answer is yes."""
    if os.name == "nt":
        return True  # os.kill would end the process there
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return True


def usb_ports() -> list[Candidate]:
    """Every serial port on USB, those of a Pico first."""
    from serial.tools import list_ports

    ports = [port for port in list_ports.comports() if port.vid is not None]
    ports.sort(key=lambda port: (port.vid != RASPBERRY_PI_USB_VENDOR, port.device))
    return [Candidate(port.device, "usb", port.description or "") for port in ports]


def every_port() -> list[Candidate]:
    """All candidates, each URL once."""
    candidates: dict[str, Candidate] = {}
    for candidate in [*named_ports(), *virtual_ports(), *usb_ports()]:
        candidates.setdefault(candidate.url, candidate)
    return list(candidates.values())
