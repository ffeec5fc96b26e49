"""What an installation holds: its size, every module the board needs and no other, and the lists for mip and for freezing."""

import ast
import json
import subprocess
import sys
from pathlib import Path

import pytest

import panchime_fw
from panchime.install.files import (
    BOOT,
    HOST_ONLY,
    MAIN,
    PACKED,
    READER,
    compiled_modules,
    firmware_files,
    module_names,
)
from panchime.virtual.board import default_firmware
from panchime.virtual.interpreter import micropython_command

TOOLS = Path(__file__).parent.parent.parent / "tools"
FLASH_BUDGET_BYTES = 100 * 1024
BLOCK_BYTES = 4096
READ_ALL = """
import binascii, os, sys
sys.path[:] = [""]
os.chdir({folder!r})
import packed
packed.mount({packed!r})
for name in {names!r}:
    with open(packed.MOUNT_POINT + "/" + name, "rb") as file:
        print(name, binascii.crc32(file.read()))
for path, mode in ("/panchime_fw/none.mpy", "rb"), ("/panchime_fw/units.mpy", "wb"):
    try:
        open(packed.MOUNT_POINT + path, mode)
    except OSError as error:
        print(path, error.errno)
print(os.stat(packed.MOUNT_POINT + "/panchime_fw/scpi")[0], os.stat(packed.MOUNT_POINT + "/panchime_fw/units.mpy")[0])
import panchime_fw.thermocouple
print(panchime_fw.thermocouple.__file__)
"""


@pytest.fixture(scope="module")
def files():
    return firmware_files(default_firmware(), compiled=True)


def imports_of(folder: Path, name: str) -> set[str]:
    """The firmware's modules that one of them may import, as paths; what is named by text counts too."""
    found = set()
    package = name.split("/")[:-1]
    for node in ast.walk(ast.parse((folder / name).read_text())):
        if isinstance(node, ast.ImportFrom):
            parts = package[: len(package) - node.level + 1] if node.level else []
            origin = [*parts, *(node.module or "").split(".")] if node.module else parts
            candidates = [origin, *([*origin, alias.name] for alias in node.names)]
        elif isinstance(node, ast.Import):
            candidates = [alias.name.split(".") for alias in node.names]
        elif (
            isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and node.value.startswith("panchime_fw.thermocouple_tables.")
        ):
            above = folder.joinpath(*node.value.split(".")[:-1])
            candidates = [path.relative_to(folder).with_suffix("").parts for path in above.glob("*.py")]
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "visit":
            candidates = [["panchime_fw", ast.literal_eval(node.args[0])]]
        else:
            continue
        for parts in candidates:
            for end in range(1, len(parts) + 1):
                stem = "/".join(parts[:end])
                found |= {path for path in (f"{stem}.py", f"{stem}/__init__.py") if stem and (folder / path).is_file()}
    return found


def test_every_module_that_main_reaches_and_no_other():
    folder = default_firmware()
    reached, waiting = set(), [MAIN]
    while waiting:
        name = waiting.pop()
        if name not in reached:
            reached.add(name)
            waiting += imports_of(folder, name)
    assert sorted(reached - {MAIN, READER}) == module_names(folder)
    assert not reached & set(HOST_ONLY)


def test_the_flash_budget_holds(files):
    assert sum(len(file.content) for file in files) <= FLASH_BUDGET_BYTES
    assert sum(-(-len(file.content) // BLOCK_BYTES) * BLOCK_BYTES for file in files) <= FLASH_BUDGET_BYTES + 3 * BLOCK_BYTES


@pytest.mark.skipif(micropython_command() is None, reason="no MicroPython interpreter for this machine")
def test_the_board_reads_every_module_as_it_was_packed(files, tmp_path):
    from zlib import crc32

    for file in files:
        (tmp_path / file.path).write_bytes(file.content)
    modules = compiled_modules(default_firmware())
    script = tmp_path / "read_all.py"
    script.write_text(READ_ALL.format(folder=str(tmp_path), packed=PACKED, names=[path for path, _ in modules]))
    run = subprocess.run([*micropython_command(), str(script)], capture_output=True, text=True, check=True)
    lines = run.stdout.splitlines()
    assert lines[: len(modules)] == [f"{path} {crc32(content)}" for path, content in modules]
    assert lines[len(modules) :] == [
        "/panchime_fw/none.mpy 2",
        "/panchime_fw/units.mpy 30",
        f"{0x4000} {0x8000}",
        "/panchime/panchime_fw/thermocouple.mpy",
    ]


def test_the_lists_on_disk_are_those_of_the_tool():
    run = subprocess.run([sys.executable, TOOLS / "build_package.py", "--check"], capture_output=True, text=True)
    assert run.returncode == 0, run.stderr


@pytest.mark.skipif(micropython_command() is None, reason="no MicroPython interpreter for this machine")
def test_what_is_to_be_frozen_is_what_the_manifest_names_and_builds_a_board(tmp_path):
    run = subprocess.run([sys.executable, TOOLS / "build_frozen.py", tmp_path], capture_output=True, text=True)
    assert run.returncode == 0, run.stderr
    assert str(tmp_path / "manifest.py") in run.stdout
    named: list[str] = []
    exec(
        (tmp_path / "manifest.py").read_text(),
        {"module": named.append, "package": lambda name, files: named.extend(f"{name}/{file}" for file in files)},
    )
    written = {path.relative_to(tmp_path).as_posix() for path in tmp_path.rglob("*.py")}
    assert set(named) == written - {"manifest.py"}
    code = "import sys; sys.path[:] = [sys.argv[1]]; from panchime_fw.cutoff import Cutoff; print(Cutoff().reason)"
    script = tmp_path / "start.py"
    script.write_text(code)
    answer = subprocess.run([*micropython_command(), str(script), str(tmp_path)], capture_output=True, text=True)
    assert answer.stdout.strip() == "0", answer.stderr


def test_a_folder_that_cannot_be_written_is_an_error_that_says_so(tmp_path):
    (tmp_path / "taken").write_text("")
    run = subprocess.run([sys.executable, TOOLS / "build_frozen.py", tmp_path / "taken"], capture_output=True, text=True)
    assert run.returncode == 1
    assert "name a folder that can be written to" in run.stderr


def test_mip_gets_what_install_would_copy():
    folder = default_firmware()
    package = json.loads((folder / "package.json").read_text())
    assert package["version"] == panchime_fw.__version__
    places = [place for place, _ in package["urls"]]
    assert places == [place for place in (file.path for file in firmware_files(folder, compiled=False)) if place != READER]
    assert (places[0], places[-1]) == (BOOT, MAIN)
    for place, source in package["urls"]:
        assert source == place
        assert (folder / source).is_file()


def test_freezing_gets_what_install_would_copy():
    """The manifest run with `module` and `package` as MicroPython's manual, "MicroPython manifest files", defines them."""
    folder = default_firmware()
    frozen = []

    def module(path, base_path=".", opt=None):
        assert (folder / base_path / path).is_file()
        frozen.append(path)

    def package(path, files=None, base_path=".", opt=None):
        assert (folder / base_path / path).is_dir()
        for name in files:
            module(f"{path}/{name}", base_path)

    exec((folder / "manifest.py").read_text(), {"module": module, "package": package})
    assert frozen == [BOOT, *module_names(folder), MAIN]
