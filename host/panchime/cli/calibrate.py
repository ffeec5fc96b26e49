"""`panchime calibrate`: ice water and boiling water make the reading true; a plunge shows the probe's lag."""

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panchime.link.board import Board

PATIENCE_MIN = 15.0
DESCRIPTION = (
    "Corrects the probe by what is known without any instrument: melting ice is 0 °C (32 °F), and water boils at a "
    "temperature that the air pressure fixes. With one of them every reading is moved by the same amount, with both it is "
    "right at both ends. "
    "It is kept on the board, with the date. What is shown is in the unit of the plan on the board."
)


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command and its own commands to the command line."""
    from panchime.cli.boards import add_port_option
    from panchime.cli.calibrate_guides import BOIL_GUIDE, ICE_GUIDE, LAG_GUIDE
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
    from panchime.journal.head import unit_of
    from panchime.planfile.keeping import document_of

    expected = expected_point(options)
    with open_board(options.port) as board:
        unit = unit_of(document_of(board.plan_json()))
        if options.action == "show":
            return run_show(board, unit, options.json)
        refuse_in_a_roast(board)
        if options.action == "clear":
            return run_clear(board, unit)
        if options.action == "lag":
            from panchime.cli.calibrate_lag import run_lag

            return run_lag(board, unit, options.patience * 60, options.store)
        from panchime.cli.calibrate_point import run_point

        assert expected is not None, "ice and boil have a point"
        return run_point(board, *expected, unit, options.patience * 60)


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


def run_show(board: "Board", unit: str, as_json: bool) -> int:
    """Shows the calibration and the lag."""
    from panchime.link.probe import read_settings
    from panchime.terminal.calibration_words import kind_words
    from panchime.terminal.output import print_json
    from panchime.terminal.safe_text import safe_line
    from panchime.terminal.words import degrees

    settings = read_settings(board)
    if as_json:
        lags = {"lag_ms": settings.lag_ms, "lag_in_force_ms": settings.lag_in_force_ms}
        print_json({"calibration": settings.calibration, **lags})
        return 0
    print(kind_words(settings.calibration, settings.thermocouple, unit))
    for point in settings.calibration["points"] if settings.calibration else []:
        shown, true = (degrees(point[key], unit, 2) for key in ("shown_centi", "true_centi"))
        print(f"  {shown} was {true}: {safe_line(point['how'])}, {safe_line(point['date']) or 'on an unknown day'}")
    lag = f"probe lag {settings.lag_ms / 1000:.1f} s"
    if settings.lag_in_force_ms != settings.lag_ms:
        lag += f"; the plan on the board names {settings.lag_in_force_ms / 1000:.1f} s, and that holds"
    print(lag)
    return 0


def run_clear(board: "Board", unit: str) -> int:
    """Clears the calibration."""
    from panchime.link.probe import read_settings, store_calibration
    from panchime.terminal.calibration_words import kind_words

    settings = read_settings(board)
    before = kind_words(settings.calibration, settings.thermocouple, unit)
    store_calibration(board, None)
    print(f"The board measures without a calibration again; it had {before}.")
    return 0
