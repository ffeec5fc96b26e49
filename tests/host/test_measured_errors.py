"""The figures of docs/temperature.md: what is promised of the curve, the correction, the filter and the rate."""

import pytest

from panchime.measure.rate_error import filter_delay_samples, rate_error, spikes_passed
from panchime.measure.temperature_error import curve_error, max6675_error, max31855_error
from panchime_fw.thermocouple import TYPES, Thermocouple


@pytest.mark.parametrize("letter", TYPES)
def test_curve(letter):
    curve = Thermocouple(letter)
    whole = curve_error(letter, curve.lowest_centi // 100, curve.highest_centi // 100)
    assert 0 < whole.to_voltage_c < 0.007
    assert whole.to_temperature_c < 0.0101


@pytest.mark.parametrize("letter", TYPES)
def test_max31855(letter):
    error = max31855_error(letter)
    assert error.corrected_c <= 0.175
    # As told it is tens of times worse: the correction does its work.
    assert error.uncorrected_c > 20 * error.corrected_c


@pytest.mark.parametrize(("cold_low_c", "corrected_c"), [(20, 0.21), (10, 0.42), (-10, 1.20)])
def test_max6675_without_its_cold_junction(cold_low_c, corrected_c):
    assert max6675_error(cold_low_c, 60).corrected_c == pytest.approx(corrected_c, abs=0.006)


def test_rate_of_a_quiet_probe():
    error = rate_error(30, 0.25, 0.0)
    # Standard deviation of a fitted slope: sigma sqrt(12 / n) / window, with the probe's noise and the amplifier's
    # steps of 0.25 degC. The median of five neither lowers nor raises it much: neighbours are no longer independent.
    unfiltered = (0.25**2 + 0.25**2 / 12) ** 0.5 * (12 / 121) ** 0.5 / 0.5
    assert unfiltered * 0.8 < error.noise_c_per_min < unfiltered * 1.2
    assert abs(error.bias_c_per_min) < 0.02
    assert error.delay_s == pytest.approx(15.5, abs=0.1)
    assert error.delayed_rms_c_per_min < 0.25
    assert error.first_ready_s == 22.5


def test_filter():
    assert filter_delay_samples() == 2
    sent, passed = spikes_passed(0.001)
    assert sent > 5
    assert passed == 0
