"""Every table of cases for the pure firmware modules, on CPython."""

import importlib
import sys
from pathlib import Path

import pytest

CASES = Path(__file__).parent.parent / "cases"
sys.path.insert(0, str(CASES))


def every_case():
    for file in sorted(CASES.glob("cases_*.py")):
        module = importlib.import_module(file.stem)
        assert module.TABLES, f"{file.name} has no tables"
        for table, (check, cases) in module.TABLES.items():
            assert cases, f"{file.name}: table {table!r} is empty"
            for index, case in enumerate(cases):
                yield pytest.param(check, case, id=f"{file.stem[6:]}: {table}[{index}]")


@pytest.mark.parametrize(("check", "case"), list(every_case()))
def test_case(check, case):
    check(*case)
