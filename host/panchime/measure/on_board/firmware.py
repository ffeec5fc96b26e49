"""The way to the firmware's modules: the packed file as main.py enters it, or the folder."""

import os
import sys

PACKED_FILE = "panchime_fw.pack"


def enter(folder: str) -> None:
    """Makes `panchime_fw` importable from a firmware folder, packed or not."""
    sys.path.insert(0, folder)
    if PACKED_FILE in os.listdir(folder):
        import packed

        packed.mount(folder + "/" + PACKED_FILE)
