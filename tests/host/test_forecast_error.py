"""What `ahead_s` foretells on virtual roasts with noise: a short form of the 500 roasts in docs/sounds.md."""

from panchime.measure.forecast_error import SCENARIOS, figures, forecast_errors, roast_errors


def test_forecasts_of_a_few_roasts():
    for error in forecast_errors(2 * len(SCENARIOS)):
        assert error.forecasts >= 3 * len(SCENARIOS)
        assert error.missed == 0
        assert error.idle == 0
        # 500 roasts: mean +0.3 s, 95 % within 2.5, 3.2 and 4.5 s
        assert abs(error.mean_s) < 1.0
        assert error.percentile_95_s < {10: 4, 20: 5, 30: 6}[error.lead_s]


def test_a_hot_pan_does_not_swallow_the_forecast():
    """The beans go into a pan of 200 degC, above the 196 that is foretold; that is no roast that has got there."""
    assert all(None not in errors and len(errors) == 2 for errors in roast_errors("skillet-mild", 0).values())


def test_figures():
    found = figures(20, [1.0, -1.0, None, 3.0, float("inf")])
    assert (found.forecasts, found.missed, found.idle) == (3, 1, 1)
    assert found.mean_s == 1.0
    assert found.percentile_95_s == 3.0
