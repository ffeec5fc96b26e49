"""Writes the table of faults in docs/temperature.md from firmware/panchime_fw/faults.py.

    python tools/build_fault_table.py            writes the table
    python tools/build_fault_table.py --check    exit status 1 when the page differs
"""

import argparse
import sys
from pathlib import Path

from panchime_fw import faults

PAGE = Path(__file__).parent.parent / "docs" / "temperature.md"
BEGIN = "<!-- faults: written by tools/build_fault_table.py -->\n"
END = "<!-- end of faults -->\n"


def table() -> str:
    rows = [f"| {number} | {faults.NAMES[number]} | {faults.ADVICE[number]} |" for number in sorted(faults.NAMES)]
    return "\n".join(["| number | fault | what to do |", "| --- | --- | --- |", *rows, ""])


def main() -> int:
    parser = argparse.ArgumentParser(description="Writes the table of faults in docs/temperature.md.")
    parser.add_argument("--check", action="store_true", help="compare and write nothing")
    check = parser.parse_args().check
    page = PAGE.read_text()
    head, _, rest = page.partition(BEGIN)
    _, end, tail = rest.partition(END)
    if not end:
        print(f"{PAGE.name}: no lines {BEGIN.strip()} and {END.strip()} to write between", file=sys.stderr)
        return 1
    wanted = head + BEGIN + table() + END + tail
    if check and wanted != page:
        print(f"{PAGE.name}: the faults differ from faults.py; run tools/{Path(__file__).name}", file=sys.stderr)
        return 1
    if not check:
        PAGE.write_text(wanted)
    return 0


if __name__ == "__main__":
    sys.exit(main())
