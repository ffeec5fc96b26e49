"""Builds firmware/package.json (for mip) and firmware/manifest.py (for freezing) from the list of files that `install` copies.

python tools/build_package.py            writes both
python tools/build_package.py --check    exit status 1 when one on disk differs
"""

import argparse
import json
import sys
from pathlib import Path

from panchime.install.files import BOOT, MAIN, module_names

FIRMWARE = Path(__file__).parent.parent / "firmware"
MANIFEST = '''"""For freezing the firmware into MicroPython, see firmware/README.md. Built by tools/build_package.py."""

# ruff: noqa: F821  MicroPython's build gives `module` and `package`.

module("{boot}")
package(
    "panchime_fw",
    (
{files}
    ),
)
module("{main}")
'''


def package_json(folder: Path) -> str:
    """What mip reads: every file and where it goes, boot.py first and main.py last, relative to this file's own place."""
    import panchime_fw

    names = [BOOT, *module_names(folder), MAIN]
    urls = ",\n".join(f"    {json.dumps([name, name])}" for name in names)
    version = json.dumps(panchime_fw.__version__)
    return f'{{\n  "version": {version},\n  "deps": [],\n  "urls": [\n{urls}\n  ]\n}}\n'


def manifest(folder: Path) -> str:
    """What MicroPython's build reads."""
    files = "\n".join(f'        "{name.removeprefix("panchime_fw/")}",' for name in module_names(folder))
    return MANIFEST.format(boot=BOOT, files=files, main=MAIN)


def main() -> int:
    parser = argparse.ArgumentParser(description="Builds the firmware's package.json and manifest.py.")
    parser.add_argument("--check", action="store_true", help="compare with the files on disk and write nothing")
    check = parser.parse_args().check
    stale = []
    for path, text in ((FIRMWARE / "package.json", package_json(FIRMWARE)), (FIRMWARE / "manifest.py", manifest(FIRMWARE))):
        if not check:
            path.write_text(text)
        elif not path.exists() or path.read_text() != text:
            stale.append(path.name)
    if stale:
        print(f"{', '.join(stale)}: not what install copies; run {Path(__file__).name}", file=sys.stderr)
    return 1 if stale else 0


if __name__ == "__main__":
    sys.exit(main())
