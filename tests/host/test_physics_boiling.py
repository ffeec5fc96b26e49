"""The boiling point of water, against the standard's check values, an independent package, and the standard atmosphere."""

import pytest
from iapws import IAPWS97

from panchime.physics.boiling import boiling_c, pressure_hpa


@pytest.mark.parametrize(("mpa", "kelvin"), [(0.1, 372.755919), (1.0, 453.035632), (10.0, 584.149488)])
def test_check_values_of_the_standard(mpa, kelvin):
    """IAPWS R7-97, table 36."""
    assert boiling_c(mpa * 10_000) + 273.15 == pytest.approx(kelvin, abs=1e-6)


@pytest.mark.parametrize("hpa", [480, 550, 700, 850, 941, 1000, 1013.25, 1090])
def test_against_an_independent_implementation(hpa):
    assert boiling_c(hpa) == pytest.approx(IAPWS97(P=hpa / 10_000, x=0).T - 273.15, abs=0.001)


@pytest.mark.parametrize(
    ("altitude_m", "celsius"), [(0, 99.97), (500, 98.31), (1000, 96.65), (1609, 94.62), (2000, 93.32), (3000, 89.97)]
)
def test_by_altitude(altitude_m, celsius):
    """Computed with the IAPWS curve and the ICAO standard atmosphere."""
    assert boiling_c(pressure_hpa(altitude_m)) == pytest.approx(celsius, abs=0.011)


@pytest.mark.parametrize(("altitude_m", "hpa"), [(0, 1013.25), (1000, 898.75), (2000, 794.95), (3000, 701.09), (5000, 540.20)])
def test_standard_atmosphere(altitude_m, hpa):
    """ICAO Doc 7488, table of the standard atmosphere by geopotential altitude."""
    assert pressure_hpa(altitude_m) == pytest.approx(hpa, abs=0.05)


def test_a_kilopascal_near_sea_level():
    """0.277 degC per kPa near one atmosphere (computed from the IAPWS curve)."""
    assert boiling_c(1018.25) - boiling_c(1008.25) == pytest.approx(0.277, abs=0.001)
