"""Every fault has a number, a name and an advice, and the page that lists them is what faults.py says."""

import subprocess
import sys
from pathlib import Path

from panchime_fw import faults

TOOLS = Path(__file__).parent.parent.parent / "tools"


def test_every_number_has_a_name_and_an_advice():
    numbers = {value for name, value in vars(faults).items() if name.isupper() and isinstance(value, int)}
    assert numbers == set(faults.NAMES) == set(faults.ADVICE)
    assert len(set(faults.NAMES.values())) == len(numbers)


def test_the_page_lists_them():
    check = subprocess.run(
        [sys.executable, str(TOOLS / "build_fault_table.py"), "--check"], capture_output=True, text=True
    )
    assert check.returncode == 0, check.stderr
