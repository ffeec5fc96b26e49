"""The figures of docs/temperature.md on lag: what compensating wins, and what it costs in noise."""

import pytest

from panchime.measure.lag_error import lag_error


@pytest.mark.parametrize(("lag_s", "noise_c", "worst_c"), [(2, 0.15, 0.6), (8.5, 0.18, 0.7), (34, 0.18, 0.8), (60, 0.27, 1.1)])
def test_lag(lag_s, noise_c, worst_c):
    error = lag_error(lag_s, 0.12)
    # 9 degC/min is 0.15 degC/s: so much is a lagging probe behind, and the filter's two samples come on top.
    assert error.measured_behind_c == pytest.approx(0.15 * lag_s + 0.15 * 0.5, abs=0.02)
    assert abs(error.compensated_behind_c) < 0.1
    assert 0.05 < error.filtered_noise_c < error.noise_c < noise_c
    assert error.worst_c < worst_c
    assert error.bend_c < 0.5
