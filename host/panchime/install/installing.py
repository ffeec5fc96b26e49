"""What has to change on a board, and changing it.

The order is what makes a pulled cable harmless: main.py goes first and comes last, boot.py is written before anything else. In
between the board starts into the prompt with the relay open, and the installation can be repeated.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import PurePosixPath

from panchime.errors import PanchimeError
from panchime.install.files import BOOT, MAIN, BoardFile, bytecode_version
from panchime.install.prompt import Facts, Prompt

OLDEST_VERSION = (1, 24, 0)  # the first with what the firmware uses; 1.29 is what the tests run on
PLATFORMS = {"rp2": "Raspberry Pi Pico family", "esp32": "ESP32 family", "linux": "virtual board"}
# littlefs keeps a file in whole blocks of 4096 bytes and needs some of them for itself.
BLOCK_BYTES = 4096
SPARE_BLOCKS = 8
# For a whole roast, installed and not frozen, on words of 32 bits: firmware/README.md, as measured by measure/board_memory.py.
HEAP_NEEDED_BYTES = 211 * 1024


@dataclass(frozen=True)
class Changes:
    """`write`: files that are new or other; `remove`: paths of an earlier firmware; `same`: how many stay as they are."""

    write: list[BoardFile]
    remove: list[str]
    same: int

    @property
    def any(self) -> bool:
        return bool(self.write or self.remove)


def changes(files: list[BoardFile], on_board: dict[str, tuple[int, int]]) -> Changes:
    """Compares by checksum and length."""
    wanted = {file.path for file in files}
    write = [file for file in files if on_board.get(file.path) != (file.sum, len(file.content))]
    remove = sorted(path for path in on_board if path not in wanted)
    return Changes(write, remove, len(files) - len(write))


def must_fit(facts: Facts, files: list[BoardFile], change: Changes, on_board: dict[str, tuple[int, int]]) -> None:
    """Raises PanchimeError when this board cannot take this firmware."""
    if facts.interpreter != "micropython" or facts.platform not in PLATFORMS:
        raise PanchimeError(
            f"this is {facts.interpreter} on {facts.platform}; Panchime runs on MicroPython on: {', '.join(PLATFORMS.values())}"
        )
    if facts.version < OLDEST_VERSION:
        raise PanchimeError(
            f"MicroPython {dotted(facts.version)} is on the board, {dotted(OLDEST_VERSION)} or newer is needed: "
            "put a newer one on it (hold BOOTSEL, plug it in, copy the file), then install again"
        )
    compiled_for = bytecode_version(files)
    if compiled_for is not None and compiled_for != facts.bytecode:
        raise PanchimeError(
            f"the board runs byte code {facts.bytecode}, this is compiled for {compiled_for}: install with --plain, "
            f"or put MicroPython {dotted(OLDEST_VERSION)} or newer on the board"
        )
    # A file is replaced by a new one beside it, so the largest needs its room twice over.
    needed = sum(blocks(len(file.content)) for file in change.write)
    freed = sum(blocks(on_board[path][1]) for path in change.remove)
    freed += sum(blocks(on_board[file.path][1]) for file in change.write if file.path in on_board)
    largest = max((blocks(len(file.content)) for file in change.write), default=0)
    missing = needed - freed + largest + SPARE_BLOCKS - facts.free_bytes // BLOCK_BYTES
    if missing > 0:
        raise PanchimeError(
            f"the flash has too little room: {missing * BLOCK_BYTES // 1024} KB are missing. "
            "Pull the roasts and remove them from the board ('panchime pull --tidy'), then install again"
        )


def blocks(length: int) -> int:
    return -(-length // BLOCK_BYTES)


def dotted(version: tuple[int, ...]) -> str:
    return ".".join(str(number) for number in version)


def install(prompt: Prompt, files: list[BoardFile], change: Changes, progress: Callable[[str, int], None]) -> None:
    """Makes the changes and verifies every file. Plans, settings and roasts are not touched.

    `progress(path, bytes)` is called for each piece written. Raises LinkError when the board is lost on the way, and
    PanchimeError when a file is not what was written.
    """
    if not change.any:
        return
    on_board = prompt.sums()
    if MAIN in on_board:
        prompt.remove(MAIN)
    for path in change.remove:
        if path != MAIN:
            prompt.remove(path)
    folders = {str(parent) for file in files for parent in PurePosixPath(file.path).parents if str(parent) != "."}
    prompt.make_folders(folders)
    main = next(file for file in files if file.path == MAIN)
    for file in sorted(change.write, key=lambda file: file.path != BOOT):
        if file.path != MAIN:
            prompt.write(file.path, file.content, lambda count, path=file.path: progress(path, count))  # type: ignore[misc]
    verify(prompt, [file for file in files if file.path != MAIN])
    prompt.write(main.path, main.content, lambda count: progress(main.path, count))
    verify(prompt, files)


def verify(prompt: Prompt, files: list[BoardFile]) -> None:
    """Raises PanchimeError with the first file that is not on the board as it should be."""
    on_board = prompt.sums()
    for file in files:
        if on_board.get(file.path) != (file.sum, len(file.content)):
            raise PanchimeError(
                f"{file.path} is not on the board as it was written: install again; if it comes back, the flash is worn"
            )
