"""Writes what MicroPython's build is to freeze into a folder: the firmware with its constants written out, and the manifest.

python tools/build_frozen.py FOLDER

Then, in MicroPython's sources: make -C ports/rp2 BOARD=RPI_PICO FROZEN_MANIFEST=FOLDER/manifest.py
"""

import argparse
import sys
from pathlib import Path

from panchime.install.files import BOOT, MAIN, folded_modules

FIRMWARE = Path(__file__).parent.parent / "firmware"


def write(folder: Path) -> int:
    """Fills the folder; how many modules of the package there are. Raises OSError when it cannot be written."""
    modules = folded_modules(FIRMWARE)
    plain = {name: (FIRMWARE / name).read_text(encoding="utf-8") for name in (BOOT, MAIN, "manifest.py")}
    for name, text in (modules | plain).items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return len(modules)


def main() -> int:
    parser = argparse.ArgumentParser(description="Writes the firmware as it is to be frozen into MicroPython.")
    parser.add_argument("folder", type=Path, help="where to; what lies there already under the same names is replaced")
    folder = parser.parse_args().folder
    try:
        count = write(folder)
    except OSError as error:
        print(f"{folder}: {error.strerror}; name a folder that can be written to", file=sys.stderr)
        return 1
    print(f"{count} modules, boot.py, main.py and manifest.py: FROZEN_MANIFEST={(folder / 'manifest.py').resolve()}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
