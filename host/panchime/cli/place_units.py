"""An altitude or an air pressure as people write it: 1600, 1600m, 5280ft; 843, 843hPa, 24.9inHg."""

import argparse
import re

# The international foot, exact; inches of mercury at 0 degC and hundredths of pascals: NIST SP 811, appendix B.
M_PER = {"": 1.0, "m": 1.0, "ft": 0.3048}
HPA_PER = {"": 1.0, "hpa": 1.0, "inhg": 33.86389}
WRITTEN = re.compile(r"([+-]?\d+(?:[.,]\d+)?)\s*([A-Za-z]*)")


def metres(text: str) -> float:
    """An altitude in m. Raises argparse.ArgumentTypeError for what is none."""
    return _converted(text, M_PER, "1600 (metres), 1600m or 5280ft")


def hectopascals(text: str) -> float:
    """A pressure in hPa. Raises argparse.ArgumentTypeError for what is none."""
    return _converted(text, HPA_PER, "843 (hPa), 843hPa or 24.9inHg")


def _converted(text: str, units: dict[str, float], examples: str) -> float:
    found = WRITTEN.fullmatch(text.strip())
    if found is None or found[2].lower() not in units:
        raise argparse.ArgumentTypeError(f"{text!r} is not understood: write {examples}")
    return float(found[1].replace(",", ".")) * units[found[2].lower()]
