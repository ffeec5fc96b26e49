"""`panchime calibrate`: ice water and boiling water make the reading true; a plunge shows the probe's lag."""

import argparse
import sys
import time
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panchime.link.board import Board
    from panchime.link.probe import Calibration
    from panchime.physics.lag_fit import LagFit

PATIENCE_MIN = 15.0
# Below it a point is that of ice, above it that of boiling water.
BETWEEN_C = 50.0
# A plunge has begun when the reading has moved this far from where it held still.
PLUNGED_C = 5.0
LAG_WINDOW_MS = 10_000
LAG_DRIFT_C = 0.3
LAG_POLL_S = 0.03
# A new sample comes four times a second; three pass the board's filter.
AFTER_MS = 1000
DESCRIPTION = (
    "Corrects the probe by what is known without any instrument: melting ice is 0 °C, and water boils at a temperature that "
    "the air pressure fixes. With one of them every reading is moved by the same amount, with both it is right at both ends. "
    "It is kept on the board, with the date."
)
ICE_GUIDE = """\
Ice water: fill a tall cup with crushed ice, then with cold water to the brim; ice must reach the bottom.
Put the tip into the middle, at least ten of its own widths deep, touching neither wall nor a piece of ice. Stir slowly.
Keep the board and the amplifier dry."""
BOIL_GUIDE = """\
Boiling water: a deep pot at a full, rolling boil. Steam and water scald: keep your hand out of the steam, clamp the probe.
Put the tip into the middle, at least ten of its own widths deep, touching neither wall nor bottom.
Keep the board and the amplifier dry, and away from the burner."""
LAG_GUIDE = """\
Have a pot at a full, rolling boil beside ice water or room air. Steam and water scald: keep your hand out of the steam.
Hold the probe still in the cold first. When told, plunge its tip into the boiling water in one go, deep, and hold it there."""


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command and its own commands to the command line."""
    from panchime.cli.boards import add_port_option
    from panchime.cli.place_units import hectopascals, metres

    parser = commands.add_parser(
        "calibrate", help="make the probe read right, by ice and boiling water", description=DESCRIPTION
    )
    actions = parser.add_subparsers(dest="action", metavar="ACTION", required=True, title="actions")
    ice = actions.add_parser("ice", help="take the point of ice water, 0 °C", description=ICE_GUIDE)
    boil = actions.add_parser("boil", help="take the point of boiling water", description=BOIL_GUIDE)
    where = boil.add_mutually_exclusive_group(required=True)
    where.add_argument(
        "--altitude", type=metres, metavar="M", help="the altitude: 1600 (metres) or 5280ft; the weather is then unknown"
    )
    where.add_argument(
        "--pressure",
        type=hectopascals,
        metavar="HPA",
        help="the air pressure at the place: 843 (hPa) or 24.9inHg; what a barometer there shows, not what weather reports "
        "reduce to sea level",
    )
    lag = actions.add_parser("lag", help="measure the probe's lag by a plunge into boiling water", description=LAG_GUIDE)
    lag.add_argument("--store", action="store_true", help="store it without asking")
    show = actions.add_parser("show", help="show what is stored")
    show.add_argument("--json", action="store_true", help="as JSON, for other programs")
    clear = actions.add_parser("clear", help="measure without a calibration again")
    for action in (ice, boil, lag):
        action.add_argument(
            "--patience", type=float, default=PATIENCE_MIN, metavar="MIN", help=f"how long to wait (default: {PATIENCE_MIN:g})"
        )
    for action in (ice, boil, lag, show, clear):
        add_port_option(action)


def run(options: argparse.Namespace) -> int:
    """Runs the chosen action."""
    from panchime.cli.boards import open_board

    expected = expected_point(options)
    with open_board(options.port) as board:
        if options.action == "show":
            return run_show(board, options.json)
        refuse_in_a_roast(board)
        if options.action == "clear":
            return run_clear(board)
        if options.action == "lag":
            return run_lag(board, options)
        assert expected is not None, "ice and boil have a point"
        return run_point(board, *expected, patience_s=options.patience * 60)


def expected_point(options: argparse.Namespace) -> tuple[float, str] | None:
    """What is true, in degC, and how that is known; None where nothing is to be compared."""
    from panchime.errors import PanchimeError
    from panchime.physics.boiling import ALTITUDE_M, PRESSURE_HPA, boiling_c, pressure_hpa

    if options.action == "ice":
        return 0.0, "ice water"
    if options.action != "boil":
        return None
    if options.altitude is not None:
        if not ALTITUDE_M[0] <= options.altitude <= ALTITUDE_M[1]:
            raise PanchimeError(
                f"--altitude {options.altitude:.0f} m: must be {ALTITUDE_M[0]:.0f} to {ALTITUDE_M[1]:.0f} metres; feet are "
                "written with their unit, as in 5280ft"
            )
        hpa = pressure_hpa(options.altitude)
        return boiling_c(hpa), f"boiling water, altitude {options.altitude:.0f} m"
    if not PRESSURE_HPA[0] <= options.pressure <= PRESSURE_HPA[1]:
        raise PanchimeError(
            f"--pressure {options.pressure:.1f} hPa: must be {PRESSURE_HPA[0]:.0f} to {PRESSURE_HPA[1]:.0f} hPa; inches of "
            "mercury are written with their unit, as in 24.9inHg"
        )
    return boiling_c(options.pressure), f"boiling water, {options.pressure:.1f} hPa"


def refuse_in_a_roast(board: "Board") -> None:
    """Raises PanchimeError while a roast runs: it keeps the calibration it was started with."""
    from panchime.errors import PanchimeError

    if board.roast_runs():
        raise PanchimeError("a roast runs: calibrate when it is over. 'panchime watch' follows it")


def run_point(board: "Board", true_c: float, how: str, patience_s: float) -> int:
    """Takes one point, checks it, stores it, and shows the reading before and after."""
    from panchime.cli.steady_wait import good_moment, wait_until_steady
    from panchime.errors import PanchimeError
    from panchime.link.probe import read_settings, store_calibration
    from panchime.physics.steady import Steadiness
    from panchime.terminal.output import note
    from panchime_fw import calibration as rules

    note_lines(ICE_GUIDE if true_c < BETWEEN_C else BOIL_GUIDE)
    if "altitude" in how:
        note_weather()
    note(f"It is {true_c:.2f} °C ({how}). Waiting until the reading is steady; Ctrl-C stops and stores nothing.")
    settings = read_settings(board)
    watch = wait_until_steady(board, true_c, patience_s, Steadiness())
    shown_centi = round(watch.mean_c * 100)
    before = rules.Calibration(settings.calibration, settings.thermocouple).apply(shown_centi)
    point = {"shown_centi": shown_centi, "true_centi": round(true_c * 100), "how": how, "date": date.today().isoformat()}
    calibration = with_point(settings.calibration, point)
    faults = rules.check(calibration, settings.thermocouple)
    if faults:
        raise PanchimeError(f"{'; '.join(faults)}. Nothing was stored")
    store_calibration(board, calibration)
    stored_ms = good_moment(board).uptime_ms
    while (moment := good_moment(board)).uptime_ms < stored_ms + AFTER_MS:
        time.sleep(LAG_POLL_S)
    assert moment.measured_c is not None, "a good one has a reading"
    print(f"true               {true_c:8.2f} °C   {how}")
    print(f"probe, uncorrected {shown_centi / 100:8.2f} °C   noise {watch.noise_c:.2f} °C")
    print(f"shown before       {before / 100:8.2f} °C   {(before / 100 - true_c):+.2f}")
    print(f"shown now          {moment.measured_c:8.2f} °C   {moment.measured_c - true_c:+.2f}")
    print(f"Stored on the board: {kind_words(calibration, settings.thermocouple)}. Logs carry it from now on.")
    return 0


def with_point(old: "Calibration | None", point: dict[str, object]) -> "Calibration":
    """The calibration with this point in place of the one taken in the same way; the other stays."""
    new_is_ice = is_ice(point)
    kept = [other for other in (old["points"] if old else []) if is_ice(other) != new_is_ice]
    return {"points": sorted([*kept, point], key=lambda each: each["true_centi"])}


def is_ice(point: dict[str, object]) -> bool:
    """Whether a point is that of ice water."""
    true_centi = point["true_centi"]
    assert isinstance(true_centi, int), "checked by the board"
    return true_centi < BETWEEN_C * 100


def kind_words(calibration: "Calibration | None", thermocouple: str, unit: str = "C") -> str:
    """A calibration in words."""
    from panchime.terminal.words import degrees, degrees_apart
    from panchime_fw import calibration as rules

    if not calibration:
        return "no calibration"
    correct = rules.Calibration(calibration, thermocouple)
    if len(calibration["points"]) == 1:
        return f"an offset of {degrees_apart(correct.correction_centi(0) / 100, unit, '+')}"
    at_0, at_200 = (degrees_apart(correct.correction_centi(centi) / 100, unit, "+") for centi in (0, 20_000))
    return f"a line, {at_0} at {degrees(0, unit)} and {at_200} at {degrees(20_000, unit)}"


def note_lines(text: str) -> None:
    """A guide, line by line, for the person."""
    from panchime.terminal.output import note

    for line in text.splitlines():
        note(line)


def note_weather() -> None:
    """What an altitude does not know."""
    from panchime.physics.boiling import SEA_LEVEL_PA, WEATHER_HPA, boiling_c
    from panchime.terminal.output import note

    doubt_c = boiling_c(SEA_LEVEL_PA / 100 + WEATHER_HPA) - boiling_c(SEA_LEVEL_PA / 100)
    note(
        f"An altitude knows nothing of the weather, which moves the boiling point by up to {doubt_c:.1f} °C; "
        "a barometer reading with --pressure does."
    )


def run_lag(board: "Board", options: argparse.Namespace) -> int:
    """Measures the lag and offers to store it."""
    from panchime.errors import PanchimeError
    from panchime.link.probe import read_settings, store_lag
    from panchime_fw.settings import PROBE_LAG_S

    before = read_settings(board)
    note_lines(LAG_GUIDE)
    fit = measure_lag(board, options.patience * 60)
    seen = f"from {fit.from_c:.1f} to {fit.to_c:.1f} °C, {fit.readings} readings, scatter {fit.scatter_c:.2f} °C"
    print(f"lag {fit.lag_s:.1f} s: {seen}")
    print("That is the lag in water. Among beans and in moving air it is longer, for a 3 mm sheath several times: take this as")
    print("the least. What it is for: milestones come earlier by it, and the cutoff takes the higher of both values.")
    if fit.lag_s > PROBE_LAG_S[1]:
        raise PanchimeError(f"the board takes a lag of up to {PROBE_LAG_S[1]} s, this is {fit.lag_s:.0f}: use a thinner probe")
    if not options.store and not wants_it(fit, before.lag_ms / 1000):
        print("Not stored; --store stores it.")
        return 0
    store_lag(board, fit.lag_s)
    print(f"Stored on the board: {fit.lag_s:.1f} s, before it was {before.lag_ms / 1000:.1f} s.")
    if read_settings(board).lag_in_force_ms != round(fit.lag_s * 10) * 100:
        print("The plan on the board names a lag of its own, and that one holds.")
    return 0


def wants_it(fit: "LagFit", before_s: float) -> bool:
    """Asks the person; without a terminal nobody is there to say yes."""
    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        return False
    print(f"Store {fit.lag_s:.1f} s on the board (now {before_s:.1f} s)? [y/N] ", end="", file=sys.stderr, flush=True)
    return sys.stdin.readline().strip().lower() in ("y", "yes")


def measure_lag(board: "Board", patience_s: float) -> "LagFit":
    """Follows a plunge from a steady reading to a steady reading. Raises PanchimeError when there is none to follow."""
    from panchime.cli.steady_wait import Progress, good_moment, wait_until_steady
    from panchime.errors import PanchimeError
    from panchime.physics.lag_fit import fit_lag
    from panchime.physics.steady import Steadiness
    from panchime.terminal.output import note

    cold = wait_until_steady(board, None, patience_s, Steadiness(LAG_WINDOW_MS, LAG_DRIFT_C))
    from_c = cold.mean_c
    note(f"Steady at {from_c:.1f} °C. Now plunge the tip into the boiling water, in one go, and hold it still.")
    deadline = time.monotonic() + patience_s
    seconds: list[float] = []
    readings: list[float] = []
    after = Steadiness(LAG_WINDOW_MS, LAG_DRIFT_C)
    with Progress() as progress:
        while not (seconds and after.steady):
            moment = good_moment(board)
            assert moment.uncalibrated_c is not None, "a good one has a reading"
            if seconds or abs(moment.uncalibrated_c - from_c) >= PLUNGED_C:
                seconds.append(moment.uptime_ms / 1000)
                readings.append(moment.uncalibrated_c)
                after.add(moment.uptime_ms, moment.uncalibrated_c)
            if time.monotonic() >= deadline:
                raise PanchimeError(
                    f"no plunge from {from_c:.1f} °C to a steady temperature came within {patience_s / 60:g} min: "
                    "begin again, or give it longer with --patience"
                )
            progress.show(f"{moment.uncalibrated_c:7.2f} °C  {'following' if seconds else 'waiting for the plunge'}")
            time.sleep(LAG_POLL_S)
    return fit_lag(seconds, readings, from_c, after.mean_c)


def run_show(board: "Board", as_json: bool) -> int:
    """Shows the calibration and the lag."""
    from panchime.link.probe import read_settings
    from panchime.terminal.output import print_json
    from panchime.terminal.safe_text import safe_line

    settings = read_settings(board)
    if as_json:
        lags = {"lag_ms": settings.lag_ms, "lag_in_force_ms": settings.lag_in_force_ms}
        print_json({"calibration": settings.calibration, **lags})
        return 0
    print(kind_words(settings.calibration, settings.thermocouple))
    for point in settings.calibration["points"] if settings.calibration else []:
        print(
            f"  {point['shown_centi'] / 100:.2f} °C was {point['true_centi'] / 100:.2f} °C: {safe_line(point['how'])}, "
            f"{safe_line(point['date']) or 'on an unknown day'}"
        )
    lag = f"probe lag {settings.lag_ms / 1000:.1f} s"
    if settings.lag_in_force_ms != settings.lag_ms:
        lag += f"; the plan on the board names {settings.lag_in_force_ms / 1000:.1f} s, and that holds"
    print(lag)
    return 0


def run_clear(board: "Board") -> int:
    """Clears the calibration."""
    from panchime.link.probe import read_settings, store_calibration

    settings = read_settings(board)
    before = kind_words(settings.calibration, settings.thermocouple)
    store_calibration(board, None)
    print(f"The board measures without a calibration again; it had {before}.")
    return 0
