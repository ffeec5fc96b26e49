"""Puts a few figures of the bench's baseline into the README, between its two marks. `--check` only says whether it is right.

`make bench ARGS=--write-baseline` measures the baseline anew; the README then follows from it by this script.
"""

import json
import sys
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parent.parent
README = ROOT / "README.md"
BASELINE = ROOT / "tests" / "bench-baseline.json"
BEGIN = "<!-- begin: tools/build_bench_table.py -->\n"
END = "<!-- end: tools/build_bench_table.py -->\n"

# Name in the baseline, what the README says of it, decimals of value and ratio.
ROWS = (
    (
        "MAX31855 K, 100 to 300 degC, cold junction -10 to 60",
        "Worst error of a reading, MAX31855 and type K, 100 to 300 °C",
        2,
        3,
    ),
    ("rate over 30 s against plain differences: noise", "Noise of the rate of rise over 30 s", 2, 2),
    ("log, all told", "Log, a sample", 2, 3),
    ("log of one roast", "Log of a whole roast", 0, 2),
    ("pull into the journal", "Pull of a 100 KB log into the journal", 0, 0),
    ("heap from frame to relay, milestones and log buffer", "Heap taken from frame to relay", 0, 0),
    ("a pass with a sample, frame to milestones and log", "Work of one sample, frame to milestones and log", 0, 0),
    ("firmware, compiled and packed", "Firmware on the flash", 0, 2),
    ("panchime roasts, cold", "Start of `panchime roasts`", 0, 2),
)
UNITS = {"degC": "°C", "degC/min": "°C/min", "bytes/sample": "bytes", "1000 instr.": "thousand instructions"}


def row(figure: dict[str, Any], words: str, decimals: int, ratio_decimals: int) -> str:
    unit = UNITS.get(figure["unit"], figure["unit"])
    peer = f"{figure['ratio']:.{ratio_decimals}f} times {figure['compared_with']}" if figure["ratio"] is not None else ""
    return f"| {words} | {figure['value']:.{decimals}f} {unit} | {peer} |\n"


def table(baseline: list[dict[str, Any]]) -> str:
    """The table in Markdown. Raises KeyError for a figure that the baseline lacks."""
    by_name = {figure["name"]: figure for figure in baseline}
    rows = [row(by_name[name], words, decimals, ratio_decimals) for name, words, decimals, ratio_decimals in ROWS]
    return "| what | measured | against |\n| --- | --- | --- |\n" + "".join(rows)


def with_table(readme: str, baseline: list[dict[str, Any]]) -> str:
    """The README's text with the table of this baseline in its place."""
    before, rest = readme.split(BEGIN)
    _, after = rest.split(END)
    return before + BEGIN + table(baseline) + END + after


def main(arguments: list[str]) -> int:
    found = README.read_text(encoding="utf-8")
    wanted = with_table(found, json.loads(BASELINE.read_text()))
    if arguments == ["--check"]:
        if found != wanted:
            print("README.md has other figures than the baseline: run python tools/build_bench_table.py")
        return int(found != wanted)
    README.write_text(wanted, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
