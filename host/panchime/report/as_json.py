"""What the analysis finds, for other programs: degC, degC/min, milliseconds since the start of the log."""

from typing import Any

from panchime.analysis.day_effect import DayEffect
from panchime.journal.as_json import entry_as_json
from panchime.report.view import RoastReport


def report_as_json(report: RoastReport) -> dict[str, Any]:
    """The analysis of one roast, as docs/analysis.md describes it."""
    account = report.account
    degree, effect = account.degree, report.day_effect
    return {
        "roast": entry_as_json(report.entry),
        "turning_point": None
        if account.turning is None
        else {
            "t_ms": round(account.turning.t_s * 1000),
            "after_beans_in_ms": round(account.turning.after_s * 1000),
            "temperature_c": round(account.turning.temperature_c, 2),
        },
        "stages": [
            {
                "name": portion.name,
                "from_ms": portion.from_ms,
                "to_ms": portion.to_ms,
                "share": portion.share,
            }
            for portion in account.story.portions
        ],
        "development_ms": account.development_ms,
        "development_share": account.development_share,
        "bands": [
            {"low_c": round(band.low_c, 3), "high_c": round(band.high_c, 3), "ms": round(band.seconds * 1000)}
            for band in account.bands
        ],
        "heat": None
        if account.heat_c_min is None
        else {"base_c": account.base_c, "degree_minutes_c": round(account.heat_c_min, 2)},
        "rate_changes": [
            {
                "kind": change.kind,
                "from_ms": round(change.from_s * 1000),
                "to_ms": round(change.to_s * 1000),
                "from_rate_c_per_min": round(change.from_rate, 2),
                "to_rate_c_per_min": round(change.to_rate, 2),
            }
            for change in account.changes
        ],
        "end_temperature_c": account.end_c,
        "degree": None
        if degree is None
        else {
            "likely": degree.likely.name,
            "lightest": degree.lightest.name,
            "darkest": degree.darkest.name,
            "by_first_crack": degree.by_first_crack,
            "second_crack_marked": degree.by_second_crack,
        },
        "weight_loss": account.loss,
        "loss_against_degree": account.loss_verdict,
        "noise_c": round(account.curve.noise_c, 3),
        "rate_sd_c_per_min": round(account.curve.rate_sd_c_per_min, 3),
        "day_c": report.day_c,
        "day_effect": None
        if not isinstance(effect, DayEffect)
        else {
            "roasts": effect.roasts,
            "min_per_c": effect.min_per_c,
            "low": effect.low,
            "high": effect.high,
            "r_squared": effect.r_squared,
        },
        "smoothed": {
            "t_ms": account.story.t_ms,
            "temperature_c": [round(value, 3) for value in account.curve.temperature_c.tolist()],
            "rate_of_rise_c_per_min": [
                None if value != value else round(value, 3) for value in account.curve.rate_c_per_min.tolist()
            ],
        },
    }
