"""Makes everything that follows from wiring/: pin maps of the firmware, drawings, parts lists, circuits for ngspice.

    python tools/build_wiring.py               writes the files
    python tools/build_wiring.py --check       exit status 1 when a file differs
    python tools/build_wiring.py --simulate    runs ngspice too and writes its results
"""

import argparse
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT / "wiring"))

from panchime_wiring import products  # noqa: E402


def main() -> int:
    parser = argparse.ArgumentParser(description="Makes everything that follows from wiring/.")
    parser.add_argument("--check", action="store_true", help="compare and write nothing")
    parser.add_argument("--simulate", action="store_true", help="run ngspice and write its results too")
    options = parser.parse_args()
    made = products.texts()
    if options.simulate:
        made.update(products.simulated())
    different = [path for path, text in made.items() if not path.is_file() or path.read_text(encoding="utf-8") != text]
    if options.check:
        for path in different:
            print(f"{path.relative_to(ROOT)} differs from wiring/; run tools/{Path(__file__).name}", file=sys.stderr)
        return 1 if different else 0
    for path in different:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(made[path], encoding="utf-8")
        print(path.relative_to(ROOT))
    return 0


if __name__ == "__main__":
    sys.exit(main())
