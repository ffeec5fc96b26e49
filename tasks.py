"""Sets up a private environment and runs the project's tasks; the standard library alone runs this file.

    make demo   or   py -m tasks demo        a whole roast on the virtual board
    make test   or   py -m tasks test        every check and test

Setting up happens once: it is repeated only when one of the files it depends on has changed.
"""

import hashlib
import os
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).parent
ENVIRONMENT = ROOT / ".venv"
BUILD = ROOT / "build"
REQUIREMENTS = ROOT / "requirements"
OLDEST_PYTHON = (3, 11)


def executable(name: str) -> str:
    """Path of a program in the environment."""
    folder = ENVIRONMENT / ("Scripts" if os.name == "nt" else "bin")
    return str(folder / (name + ".exe" if os.name == "nt" else name))


def run(*command: str) -> None:
    """Runs a command in the project's folder; ends the task with its exit status when it fails."""
    status = subprocess.run(command, cwd=ROOT).returncode
    if status:
        sys.exit(status if status > 0 else 1)


def pip(*arguments: str) -> int:
    """Exit status of pip in the environment."""
    quiet = ("--quiet", "--disable-pip-version-check", "--no-input")
    return subprocess.run([executable("python"), "-m", "pip", "install", *quiet, *arguments], cwd=ROOT).returncode


def is_done(stamp: Path, *depends_on: Path) -> bool:
    """True when the stamp was written for these very files and this interpreter."""
    return stamp.is_file() and stamp.read_text() == fingerprint(*depends_on)


def fingerprint(*files: Path) -> str:
    digest = hashlib.sha256(sys.version.encode() + str(ROOT).encode())
    for file in files:
        digest.update(file.read_bytes())
    return digest.hexdigest()


def set_up(level: str) -> None:
    """Makes the environment: `main` is enough to run the product, `dev` adds what the tests need."""
    if sys.version_info < OLDEST_PYTHON:
        sys.exit(f"Panchime needs Python {OLDEST_PYTHON[0]}.{OLDEST_PYTHON[1]} or newer; this is {sys.version.split()[0]}.")
    listed = REQUIREMENTS / f"{level}.txt"
    depends_on = (listed, REQUIREMENTS / "interpreter.txt", ROOT / "pyproject.toml", ROOT / "tasks.py")
    stamps = [ENVIRONMENT / f"set-up-{name}" for name in (("main", "dev") if level == "main" else ("dev",))]
    # What the tests need contains what the product needs.
    if any(is_done(stamp, REQUIREMENTS / f"{stamp.name[7:]}.txt", *depends_on[1:]) for stamp in stamps):
        return
    print(f"Setting up {ENVIRONMENT.name} (once; a minute or two) ...", file=sys.stderr, flush=True)
    if not Path(executable("python")).exists():
        venv.create(ENVIRONMENT, with_pip=True)
    if pip("--require-hashes", "-r", str(listed)):
        sys.exit("The packages could not be installed: look at the lines above; a network is needed this once.")
    if pip("--require-hashes", "--only-binary", ":all:", "-r", str(REQUIREMENTS / "interpreter.txt")):
        print(
            "There is no MicroPython build for this machine: the virtual board will run the same firmware on CPython.",
            file=sys.stderr,
        )
    if pip("--no-deps", "--no-build-isolation", "--editable", "."):
        sys.exit("Panchime itself could not be installed: look at the lines above.")
    (ENVIRONMENT / f"set-up-{level}").write_text(fingerprint(*depends_on))


def set_up_stubs() -> None:
    """The board's modules as types, apart from the environment: they would hide the computer's own `time` and `select`."""
    listed = REQUIREMENTS / "stubs.txt"
    stamp = BUILD / "set-up-stubs"
    if not is_done(stamp, listed):
        BUILD.mkdir(exist_ok=True)
        if pip("--require-hashes", "--upgrade", "--target", str(BUILD / "typings"), "-r", str(listed)):
            sys.exit("The MicroPython stubs could not be installed: look at the lines above.")
        stamp.write_text(fingerprint(listed))


def demo(arguments: list[str]) -> None:
    set_up("main")
    run(executable("panchime"), "demo", *arguments)


def check(_: list[str]) -> None:
    """Lint and types: ruff, mypy --strict on the host, mypy with the board's stubs on the firmware."""
    set_up("dev")
    set_up_stubs()
    run(executable("ruff"), "check", ".")
    run(executable("mypy"))
    board = ("firmware/boot.py", "firmware/main.py", "firmware/panchime_fw")
    run(executable("mypy"), "--config-file", "firmware/mypy.ini", *board)


def test(arguments: list[str]) -> None:
    check([])
    # One worker more than two cores: the tests from end to end mostly wait for a board that keeps real time.
    run(executable("pytest"), "-q", "-n", "3", "--dist", "worksteal", *arguments)


def lock(_: list[str]) -> None:
    """Compiles the requirement files anew, with hashes and for every platform."""
    set_up("dev")
    for source in sorted(REQUIREMENTS.glob("*.in")):
        run(
            executable("uv"), "pip", "compile", "--universal", "--python-version", "3.11", "--generate-hashes",
            "--no-emit-index-url", "--no-header", "--quiet", "--upgrade",
            "--output-file", str(source.with_suffix(".txt")), str(source),
        )  # fmt: skip


def wiring(arguments: list[str]) -> None:
    """Drawings, pin maps and lists made anew from wiring/; with --simulate the computed driver stages too (needs ngspice)."""
    set_up("dev")
    run(executable("python"), "tools/build_wiring.py", *arguments)


def campaign_faults(arguments: list[str]) -> None:
    """Thousands of roasts with a fault in each, and a million messages: does the heater ever stay on?"""
    set_up("dev")
    run(executable("python"), "tests/campaigns/faults/run.py", *arguments)


def campaign_power(arguments: list[str]) -> None:
    """Thousands of power cuts at every write and erase: is anything lost that was sealed?"""
    set_up("dev")
    run(executable("python"), "tests/campaigns/power/run_power.py", *arguments)


def campaign_link_drops(arguments: list[str]) -> None:
    """Pulls over a line that drops, garbles and delays at every place: is a wrong log ever kept?"""
    set_up("dev")
    run(executable("python"), "tests/campaigns/link_drops/run.py", *arguments)


def campaign_pull_kill(arguments: list[str]) -> None:
    """Kills the pull at random moments: is a roast ever lost or doubled?"""
    set_up("dev")
    run(executable("python"), "tests/campaigns/pull_kill/run.py", *arguments)


def bench(arguments: list[str]) -> None:
    """How exact, small and fast it is, against the committed baseline."""
    set_up("dev")
    run(executable("python"), "-m", "panchime.measure.bench", *arguments)


TASKS = {
    "bench": bench,
    "demo": demo,
    "test": test,
    "check": check,
    "lock": lock,
    "wiring": wiring,
    "campaign-faults": campaign_faults,
    "campaign-power": campaign_power,
    "campaign-link-drops": campaign_link_drops,
    "campaign-pull-kill": campaign_pull_kill,
}


def main(arguments: list[str]) -> None:
    if not arguments or arguments[0] not in TASKS:
        sys.exit("Tasks: " + ", ".join(TASKS))
    TASKS[arguments[0]](arguments[1:])


if __name__ == "__main__":
    main(sys.argv[1:])
