"""Altitudes and pressures in the units that people have."""

import argparse

import pytest

from panchime.cli.calibrate import expected_point
from panchime.cli.main import build_parser, chosen_command
from panchime.cli.place_units import hectopascals, metres


# The international foot is 0.3048 m, exact; an inch of mercury at 0 degC 3386.389 Pa (NIST SP 811, appendix B).
@pytest.mark.parametrize(
    ("text", "value"), [("1600", 1600), ("1600m", 1600), ("1609.344 m", 1609.344), ("5280ft", 1609.344), ("-200FT", -60.96)]
)
def test_altitudes(text, value):
    assert metres(text) == pytest.approx(value, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "value"), [("843", 843), ("843,5", 843.5), ("843 hPa", 843), ("29.92126inHg", 1013.25), ("24.9inhg", 843.21)]
)
def test_pressures(text, value):
    assert hectopascals(text) == pytest.approx(value, abs=0.005)


@pytest.mark.parametrize(("read", "text"), [(metres, "1 mile"), (metres, "high"), (hectopascals, "24.9 psi"), (metres, "")])
def test_what_is_not_understood_says_what_is(read, text):
    with pytest.raises(argparse.ArgumentTypeError, match=r"is not understood: write .*(ft|inHg)"):
        read(text)


@pytest.mark.parametrize(("words", "same"), [(("--altitude", "5280ft"), ("--altitude", "1609.344")),
                                             (("--pressure", "24.9inHg"), ("--pressure", "843.2109"))])  # fmt: skip
def test_both_give_the_same_boiling_point(words, same):
    def point(arguments):
        line = ["calibrate", "boil", *arguments]
        return expected_point(build_parser(chosen_command(line)).parse_args(line))[0]

    assert point(words) == pytest.approx(point(same), abs=1e-4)
