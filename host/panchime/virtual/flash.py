"""The board's flash on this computer: an image with littlefs for MicroPython, a plain folder for CPython."""

import os
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path

from panchime.errors import PanchimeError
from panchime.virtual.interpreter import micropython_command, shim_folder

BLOCKS, BLOCK_BYTES = 352, 4096
MANIFEST = "manifest.py"  # for MicroPython's build, not for the board


@dataclass(frozen=True)
class Flash:
    """Where the flash lies: a file (MicroPython) or a folder (CPython)."""

    path: Path


def firmware_files(folder: Path) -> list[tuple[Path, str]]:
    """The files of a firmware folder and their places on the board, boot.py and main.py last.

    Raises PanchimeError when the folder holds no firmware.
    """
    if not (folder / "main.py").is_file():
        raise PanchimeError(f"{folder} holds no firmware (no main.py): give the folder that is copied to the board")
    files = [file for file in sorted(folder.rglob("*.py")) if "__pycache__" not in file.parts and file.name != MANIFEST]
    files.sort(key=lambda file: file.parent == folder)
    return [(file, file.relative_to(folder).as_posix()) for file in files]


def prepare_image(image: Path, firmware: Path | None) -> Flash:
    """Makes or mends a flash image and lays the firmware onto it; None keeps what is there.

    Raises PanchimeError when that fails.
    """
    command = micropython_command()
    if command is None:
        raise PanchimeError("there is no MicroPython on this computer: run the virtual board with --interpreter cpython")
    image.parent.mkdir(parents=True, exist_ok=True)
    if not image.exists():
        image.write_bytes(b"\xff" * (BLOCKS * BLOCK_BYTES))
    pairs = [] if firmware is None else firmware_files(firmware)
    arguments = [part for file, place in pairs for part in (str(file.resolve()), place)]
    run = subprocess.run(
        [*command, str(shim_folder() / "prepare_flash.py"), str(image.resolve()), *arguments],
        env={**os.environ, "MICROPYPATH": str(shim_folder())},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        cwd=tempfile.gettempdir(),
        check=False,
    )
    if run.returncode:
        raise PanchimeError(
            f"the flash image {image} could not be prepared: {(run.stdout + run.stderr).strip()[-300:]}; "
            "remove the file to start with an empty flash"
        )
    return Flash(image.resolve())


def prepare_folder(folder: Path, firmware: Path | None) -> Flash:
    """As `prepare_image`, for CPython: a plain folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for file, place in [] if firmware is None else firmware_files(firmware):
        target = folder / place
        data = file.read_bytes()
        if not target.exists() or target.read_bytes() != data:
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(data)
    return Flash(folder.resolve())
