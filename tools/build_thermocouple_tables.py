"""Builds firmware/panchime_fw/thermocouple_tables/ from the ITS-90 reference functions.

    python tools/build_thermocouple_tables.py            writes the tables
    python tools/build_thermocouple_tables.py --check    exit status 1 when a table on disk differs

The board's floats are single precision and live on its heap, so it gets the reference functions as whole nanovolts on
an even grid: a plain tuple, four bytes an entry in the board's memory. On the flash, where all types lie, a table is its
second differences, two bytes each.
"""

import argparse
import itertools
import json
import math
import struct
import sys
from pathlib import Path
from typing import Any

TOOLS = Path(__file__).parent
COEFFICIENTS = TOOLS / "its90_coefficients.json"
TABLES = TOOLS.parent / "firmware" / "panchime_fw" / "thermocouple_tables"

STEP_C = 10

# Lowest and highest temperature a table serves. The tops are those of the reference functions. Below -200 degC the
# base-metal types lose their sensitivity (type K: 15 uV/degC at -200, 1 at -270), so their last 70 degrees are left
# out; types R and S begin at -50 degC.
RANGES_C = {
    "K": (-200, 1372),
    "J": (-200, 1200),
    "N": (-200, 1300),
    "T": (-200, 400),
    "E": (-200, 1000),
    "R": (-50, 1768),
    "S": (-50, 1768),
}


def millivolts(pieces: list[dict[str, Any]], t_c: float) -> float:
    """The reference function in mV, reference junction at 0 degC.

    Source: NIST Monograph 175: a polynomial in t for each piece, and for type K above 0 degC also
    a0 exp(a1 (t - a2)^2). Beyond the ends the nearest piece goes on: support points of the interpolation need that.
    """
    piece = next((p for p in pieces if t_c <= p["t_max_c"]), pieces[-1])
    value = 0.0
    for coefficient in reversed(piece["coeffs"]):
        value = value * t_c + coefficient
    extra = piece.get("exponential")
    if extra:
        value += extra["a0"] * math.exp(extra["a1"] * (t_c - extra["a2"]) ** 2)
    return value


def table_text(letter: str, pieces: list[dict[str, Any]]) -> str:
    low, high = RANGES_C[letter]
    # One support point before the first interval and one after the last, see thermocouple.py.
    last = low + math.ceil((high - low) / STEP_C) * STEP_C
    nodes = [round(1e6 * millivolts(pieces, t)) for t in range(low - STEP_C, last + STEP_C + 1, STEP_C)]
    rises = [after - before for before, after in itertools.pairwise(nodes)]
    bends = struct.pack(f"<{len(rises) - 1}h", *(after - before for before, after in itertools.pairwise(rises)))
    lines = [
        f'"""Type {letter} from {low - STEP_C} degC in steps of {STEP_C} degC, in nanovolts.',
        "",
        "Built by tools/build_thermocouple_tables.py from the NIST ITS-90 reference functions (SRD 60, Monograph 175).",
        '"""',
        "",
        "from . import nodes",
        "",
        f"LOWEST_CENTI = {low * 100}",
        f"HIGHEST_CENTI = {high * 100}",
        "NANOVOLTS = nodes(",
        f"    {nodes[0]},",
        f"    {rises[0]},",
    ]
    pieces_of_text = [bends[i : i + 24] for i in range(0, len(bends), 24)]
    lines += ['    b"' + "".join(f"\\x{byte:02x}" for byte in piece) + '"' for piece in pieces_of_text]
    lines[-1] += ","
    return "\n".join([*lines, ")", ""])


def main() -> int:
    parser = argparse.ArgumentParser(description="Builds the board's thermocouple tables from the ITS-90 coefficients.")
    parser.add_argument("--check", action="store_true", help="compare with the tables on disk and write nothing")
    check = parser.parse_args().check
    types = json.loads(COEFFICIENTS.read_text())["types"]
    stale = []
    for letter in RANGES_C:
        path = TABLES / f"type_{letter.lower()}.py"
        text = table_text(letter, types[letter])
        if check:
            if not path.exists() or path.read_text() != text:
                stale.append(path.name)
        else:
            path.write_text(text)
    if stale:
        print(f"{', '.join(stale)}: not what the coefficients give; run {Path(__file__).name}", file=sys.stderr)
    return 1 if stale else 0


if __name__ == "__main__":
    sys.exit(main())
