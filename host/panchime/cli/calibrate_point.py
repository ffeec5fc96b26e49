"""Taking a point of the calibration: ice water or boiling water, before and after."""

import time
from datetime import date

from panchime.cli.calibrate_guides import BOIL_GUIDE, ICE_GUIDE, note_lines
from panchime.cli.steady_wait import good_moment, wait_until_steady
from panchime.errors import PanchimeError
from panchime.link.board import Board
from panchime.link.probe import Calibration, read_settings, store_calibration
from panchime.physics.boiling import SEA_LEVEL_PA, WEATHER_HPA, boiling_c
from panchime.physics.steady import Steadiness
from panchime.terminal.calibration_words import kind_words
from panchime.terminal.output import note
from panchime.terminal.words import degrees, degrees_apart
from panchime_fw import calibration as rules

# Below it a point is that of ice, above it that of boiling water.
BETWEEN_C = 50.0
# A new sample comes four times a second; three pass the board's filter.
AFTER_MS = 1000
POLL_S = 0.03


def run_point(board: Board, true_c: float, how: str, unit: str, patience_s: float) -> int:
    """Takes one point, checks it, stores it, and shows the reading before and after, in the unit."""
    true_centi = round(true_c * 100)
    note_lines(ICE_GUIDE if true_c < BETWEEN_C else BOIL_GUIDE)
    if "altitude" in how:
        note_weather(unit)
    note(f"It is {degrees(true_centi, unit, 2)} ({how}). Waiting until the reading is steady; Ctrl-C stops and stores nothing.")
    settings = read_settings(board)
    watch = wait_until_steady(board, true_c, patience_s, Steadiness(), unit)
    shown_centi = round(watch.mean_c * 100)
    before = rules.Calibration(settings.calibration, settings.thermocouple).apply(shown_centi)
    point = {"shown_centi": shown_centi, "true_centi": true_centi, "how": how, "date": date.today().isoformat()}
    calibration = with_point(settings.calibration, point)
    faults = rules.check(calibration, settings.thermocouple)
    if faults:
        raise PanchimeError(f"{'; '.join(faults)}. Nothing was stored")
    store_calibration(board, calibration)
    stored_ms = good_moment(board).uptime_ms
    while (moment := good_moment(board)).uptime_ms < stored_ms + AFTER_MS:
        time.sleep(POLL_S)
    assert moment.measured_c is not None, "a good one has a reading"
    now_centi = round(moment.measured_c * 100)
    print(f"true               {degrees(true_centi, unit, 2):>11}   {how}")
    print(f"probe, uncorrected {degrees(shown_centi, unit, 2):>11}   noise {degrees_apart(watch.noise_c, unit)}")
    print(f"shown before       {degrees(before, unit, 2):>11}   {degrees_apart((before - true_centi) / 100, unit, '+')}")
    print(f"shown now          {degrees(now_centi, unit, 2):>11}   {degrees_apart((now_centi - true_centi) / 100, unit, '+')}")
    print(f"Stored on the board: {kind_words(calibration, settings.thermocouple, unit)}. Logs carry it from now on.")
    return 0


def with_point(old: Calibration | None, point: dict[str, object]) -> Calibration:
    """The calibration with this point in place of the one taken in the same way; the other stays."""
    new_is_ice = is_ice(point)
    kept = [other for other in (old["points"] if old else []) if is_ice(other) != new_is_ice]
    return {"points": sorted([*kept, point], key=lambda each: each["true_centi"])}


def is_ice(point: dict[str, object]) -> bool:
    """Whether a point is that of ice water."""
    true_centi = point["true_centi"]
    assert isinstance(true_centi, int), "checked by the board"
    return true_centi < BETWEEN_C * 100


def note_weather(unit: str) -> None:
    """What an altitude does not know."""
    doubt_c = boiling_c(SEA_LEVEL_PA / 100 + WEATHER_HPA) - boiling_c(SEA_LEVEL_PA / 100)
    note(
        f"An altitude knows nothing of the weather, which moves the boiling point by up to {degrees_apart(doubt_c, unit)}; "
        "a barometer reading with --pressure does."
    )
