"""Every whole degree of every type against an independent implementation of the NIST tables, both directions, and the
MAX31855's frames over the cold junctions a kitchen can have."""

import json
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import numpy
import pytest
import thermocouple_its90
from thermocouples_reference import thermocouples as second_reference

from panchime_fw import faults
from panchime_fw.amplifier import decoder_for
from panchime_fw.amplifier.bounds import RANGE_CENTI
from panchime_fw.amplifier.max31855 import SENSITIVITY_NV_PER_C
from panchime_fw.amplifier.reading import Reading
from panchime_fw.thermocouple import TYPES, Thermocouple

TOOLS = Path(__file__).parent.parent.parent / "tools"


@pytest.mark.parametrize("letter", TYPES)
def test_voltage_of_every_whole_degree(letter):
    curve, reference = Thermocouple(letter), thermocouple_its90.get(letter)
    for t_c in range(curve.lowest_centi // 100, curve.highest_centi // 100 + 1):
        error_nv = curve.nanovolts(t_c * 100) - 1e6 * reference.emf(t_c)
        # reference.seebeck is mV/degC
        assert abs(error_nv) / (1e6 * reference.seebeck(t_c)) < 0.01, f"type {letter} at {t_c} degC: {error_nv:.0f} nV"


@pytest.mark.parametrize("letter", TYPES)
def test_temperature_of_every_whole_degree(letter):
    curve, reference = Thermocouple(letter), thermocouple_its90.get(letter)
    for t_c in range(curve.lowest_centi // 100, curve.highest_centi // 100 + 1):
        found = curve.centi(round(1e6 * reference.emf(t_c)))
        assert abs(found - t_c * 100) <= 2, f"type {letter} at {t_c} degC: {found / 100}"


@pytest.mark.parametrize("letter", TYPES)
def test_there_and_back_at_every_tenth(letter):
    curve = Thermocouple(letter)
    for t_centi in range(curve.lowest_centi, curve.highest_centi + 1, 10):
        back = curve.centi(curve.nanovolts(t_centi))
        assert abs(back - t_centi) <= 1, f"type {letter} at {t_centi / 100} degC: {back / 100}"


@pytest.mark.parametrize("letter", TYPES)
def test_both_directions_rise_everywhere(letter):
    curve = Thermocouple(letter)
    # From one hundredth to the next: the seams between two intervals lie every 10 degC.
    for seam in range(curve.lowest_centi + 1000, curve.highest_centi - 1000, 1000):
        voltages = [curve.nanovolts(t) for t in range(seam - 5, seam + 6)]
        assert all(a < b for a, b in pairwise(voltages)), f"type {letter} about {seam / 100} degC"
        temperatures = [curve.centi(v) for v in range(voltages[0], voltages[-1], 20)]
        assert temperatures == sorted(temperatures), f"type {letter} about {seam / 100} degC"


@pytest.mark.parametrize("letter", TYPES)
def test_the_two_references_agree(letter):
    """An error in the one package would need the same error in the other to go unseen."""
    first, second = thermocouple_its90.get(letter), second_reference[letter]
    # An array of floats: the package asks numpy for something it no longer does with a plain number.
    low_c, high_c = RANGE_CENTI[letter][0] // 100, RANGE_CENTI[letter][1] // 100
    temperatures_c = numpy.arange(low_c, high_c + 1, 7, dtype=float)
    expected_mv = second.emf_mVC(temperatures_c, Tref=numpy.zeros(1))
    assert [first.emf(t_c) for t_c in temperatures_c] == pytest.approx(list(expected_mv), abs=1e-6)


@pytest.mark.parametrize("letter", TYPES)
def test_amplifiers_believe_the_range_of_the_table(letter):
    curve = Thermocouple(letter)
    assert RANGE_CENTI[letter] == (curve.lowest_centi, curve.highest_centi)


@pytest.mark.parametrize("letter", TYPES)
def test_sensitivities_are_the_mean_slope_of_the_reference(letter):
    # The slope from 0 degC to 1000 degC, printed to 1 nV/degC; for type T to 400 degC, printed to 10.
    top_c, allowed = (400, 5) if letter == "T" else (1000, 0.51)
    slope_nv_per_c = 1e6 * thermocouple_its90.get(letter).emf(top_c) / top_c
    assert SENSITIVITY_NV_PER_C[letter] == pytest.approx(slope_nv_per_c, abs=allowed)


def frame(quarters: int, cold_sixteenths: int) -> bytes:
    return ((quarters & 0x3FFF) << 18 | (cold_sixteenths & 0xFFF) << 4).to_bytes(4, "big")


@pytest.mark.parametrize("letter", TYPES)
def test_correction_over_the_cold_junctions_of_a_kitchen(letter):
    """The chip's straight line undone, -50 to 400 degC, cold junction -10 to 60: within its own rounding and 0.05 degC.

    The chip rounds what it tells to 0.25 degC, so up to 0.125 degC is lost there. A degree told is s/S degrees of the
    thermocouple, with the chip's s and the true sensitivity S: that is how much of the rounding arrives.
    """
    reference = thermocouple_its90.get(letter)
    decoder, reading = decoder_for("MAX31855", letter), Reading()
    sensitivity_mv = SENSITIVITY_NV_PER_C[letter] * 1e-6
    low_c = max(-50, RANGE_CENTI[letter][0] // 100 + 5)
    for cold_c in range(-10, 61, 2):
        cold_mv = reference.emf(cold_c)
        for true_c in range(low_c, 400):
            told_c = cold_c + (reference.emf(true_c) - cold_mv) / sensitivity_mv
            quarters = round(told_c * 4)
            rounding_c = abs(quarters / 4 - told_c) * sensitivity_mv / reference.seebeck(true_c)
            raw = frame(quarters, cold_c * 16)
            if raw == bytes(4):
                continue  # 0 degC with the cold junction at 0: the one frame that an absent amplifier also gives
            decoder.decode(raw, reading)
            assert reading.fault == faults.NONE
            assert reading.cold_centi == cold_c * 100
            error_c = reading.temperature_centi / 100 - true_c
            # The sensitivity changes within a step; type S and R near -50 degC most.
            assert abs(error_c) <= rounding_c * 1.02 + 0.05, f"type {letter} at {true_c}, cold {cold_c}: {error_c:+.3f}"


def test_type_k_where_roasting_happens():
    """100 to 300 degC, cold junction -10 to 60: no more than 0.125 + 0.05 degC whatever the chip rounded."""
    reference, decoder, reading = thermocouple_its90.get("K"), decoder_for("MAX31855", "K"), Reading()
    for cold_sixteenths in range(-160, 961, 7):
        cold_c = cold_sixteenths / 16
        for tenth in range(1000, 3001):
            told_c = cold_c + (reference.emf(tenth / 10) - reference.emf(cold_c)) / 0.041276
            decoder.decode(frame(round(told_c * 4), cold_sixteenths), reading)
            assert abs(reading.temperature_centi - tenth * 10) <= 17, f"{tenth / 10} degC, cold junction {cold_c}"


def test_without_correction_the_error_is_on_the_unsafe_side():
    """The reason for all this: the chip alone reads low where a cutoff matters (type K, cold junction 25 degC)."""
    reference = thermocouple_its90.get("K")
    for true_c, error_c in ((200, -2.06), (225, -2.77), (250, -3.25), (300, -3.45)):
        told_c = 25 + (reference.emf(true_c) - reference.emf(25)) / 0.041276
        assert told_c - true_c == pytest.approx(error_c, abs=0.01)


def test_tables_are_what_the_coefficients_give():
    check = subprocess.run(
        [sys.executable, str(TOOLS / "build_thermocouple_tables.py"), "--check"], capture_output=True, text=True
    )
    assert check.returncode == 0, check.stderr


def test_coefficients_are_those_of_the_reference_package():
    types = json.loads((TOOLS / "its90_coefficients.json").read_text())["types"]
    assert set(types) == set(TYPES)
    for letter, pieces in types.items():
        table = second_reference[letter].func.table
        assert len(pieces) == len(table)
        for piece, (low_c, high_c, coefficients, _) in zip(pieces, table, strict=True):
            assert (piece["t_min_c"], piece["t_max_c"]) == (low_c, high_c)
            assert piece["coeffs"] == [float(c) for c in coefficients][::-1]
