"""`panchime check`: is the board fit for the next roast? One line for each thing, with a word on what it means."""

import argparse
import time
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panchime.link.board import Board
    from panchime.link.probe import ProbeSettings

SECONDS = 5.0
# A MAX31855's last bit flickers by 0.1 to 0.2 degC; several times that is a loose contact or a motor beside the wire.
NOISE_LIMIT_C = 0.8
# Where the cutoff calls the board too hot, and where a Pico is not specified any more.
COLD_JUNCTION_C = (-20.0, 70.0)
ENOUGH_MINUTES = 30
CLOCK_OFF_S = 2.0
OLD_CALIBRATION_DAYS = 365
WALL_LIMIT_S = 60.0
POLL_S = 0.1
TESTS = {1: "probe", 2: "plan", 4: "log", 8: "cutoff", 16: "amplifier", 32: "settings"}


@dataclass(frozen=True)
class Line:
    """One thing that was looked at: its name, what was found, whether that is well, and what it means or what to do."""

    name: str
    found: str
    well: bool
    words: str


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    from panchime.cli.boards import add_port_option

    parser = commands.add_parser(
        "check",
        help="see whether the board is fit for the next roast",
        description="Looks at the probe, the amplifier, the calibration, the flash, the clock, the plan and the cutoff. "
        "The exit status is 1 when something is wrong. A good check is no protection: stay with the roast.",
    )
    parser.add_argument(
        "--seconds",
        type=float,
        default=SECONDS,
        metavar="S",
        help=f"how long to listen to the probe's noise (default: {SECONDS:g})",
    )
    parser.add_argument(
        "--cutoff",
        action="store_true",
        help="prove the cutoff with a cup of hot water and a low limit; your own limit comes back whatever happens",
    )
    parser.add_argument("--yes", action="store_true", help="with --cutoff: the roaster is unplugged, do not ask")
    parser.add_argument("--json", action="store_true", help="as JSON, for other programs")
    add_port_option(parser)


def run(options: argparse.Namespace) -> int:
    """Checks; 1 when something is wrong."""
    from panchime.cli.boards import open_board
    from panchime.cli.prove_cutoff import CAUTION, prove, restore_left_over, wait_for_go_ahead
    from panchime.terminal.output import note, print_json

    with open_board(options.port) as board:
        restore_left_over(board, note)
        if options.cutoff:
            note(CAUTION)
            wait_for_go_ahead(options.yes)
            prove(board, note)
            return 0
        lines = look(board, options.seconds)
        identity = board.identity
    well = all(line.well for line in lines)
    if options.json:
        print_json(
            {
                "well": well,
                "board": {"model": identity.model, "serial": identity.serial, "firmware": identity.firmware},
                "lines": [{"name": one.name, "found": one.found, "well": one.well, "words": one.words} for one in lines],
            }
        )
    else:
        print_table(lines, well)
    return 0 if well else 1


def look(board: "Board", seconds: float) -> list[Line]:
    """Everything that is looked at, in the order a person would."""
    from panchime.link.probe import read_settings

    settings = read_settings(board)
    return [
        board_line(board),
        *probe_lines(board, seconds),
        *settings_lines(settings),
        flash_line(board),
        clock_line(board),
        plan_line(board),
        trip_line(board),
        self_test_line(board),
    ]


def board_line(board: "Board") -> Line:
    """Who is there."""
    identity = board.identity
    return Line("board", identity.model, True, f"serial number {identity.serial}, firmware {identity.firmware}")


def probe_lines(board: "Board", seconds: float) -> list[Line]:
    """Fault, reading, noise and cold junction."""
    from panchime.link.probe import read_cold_junction_c, read_fault
    from panchime.terminal.words import NOTHING
    from panchime_fw import faults

    fault = read_fault(board)
    lines = [Line("probe", "good" if fault == faults.NONE else faults.NAMES[fault], fault == faults.NONE, faults.ADVICE[fault])]
    values, noise_c = listen(board, seconds)
    if values:
        lines.append(Line("reading", f"{values[-1]:.2f} °C", True, "warm the tip between two fingers: it must rise"))
        quiet = noise_c <= NOISE_LIMIT_C
        lines.append(
            Line(
                "noise",
                f"{noise_c:.2f} °C",
                quiet,
                f"standard deviation over {seconds:g} s; the amplifier's own step is 0.06 to 0.25 °C"
                if quiet
                else "look for a loose contact, or a motor, an igniter or mains wires beside the probe's wire",
            )
        )
    else:
        lines.append(Line("reading", NOTHING, fault != faults.NONE, "there is none while the probe is faulty"))
    cold_c = read_cold_junction_c(board)
    if cold_c is None:
        well = fault == faults.NONE
        words = "a MAX6675 never tells it" if well else "not known while the chip is silent"
        lines.append(Line("cold junction", NOTHING, True, words))
    else:
        well = COLD_JUNCTION_C[0] <= cold_c < COLD_JUNCTION_C[1]
        words = "the amplifier's own temperature, as warm as the air around it" if well else faults.ADVICE[faults.COLD_JUNCTION]
        lines.append(Line("cold junction", f"{cold_c:.2f} °C", well, words))
    return lines


def listen(board: "Board", seconds: float) -> tuple[list[float], float]:
    """Readings over some seconds of the board's time, and their scatter about a straight line in degC."""
    from panchime.link.probe import read_moment

    times: list[float] = []
    values: list[float] = []
    wall_end = time.monotonic() + WALL_LIMIT_S
    begun_ms: int | None = None
    while time.monotonic() < wall_end:
        moment = read_moment(board)
        begun_ms = moment.uptime_ms if begun_ms is None else begun_ms
        if moment.measured_c is not None:
            times.append(moment.uptime_ms / 1000)
            values.append(moment.measured_c)
        if moment.uptime_ms - begun_ms >= seconds * 1000:
            break
        time.sleep(POLL_S)
    return values, scatter(times, values)


def scatter(times: list[float], values: list[float]) -> float:
    """The standard deviation about the least-squares line: a probe that warms up is not noisy. 0 for fewer than three."""
    if len(values) < 3 or times[0] == times[-1]:
        return 0.0
    count = len(values)
    mean_t, mean_v = sum(times) / count, sum(values) / count
    slope = sum((t - mean_t) * (v - mean_v) for t, v in zip(times, values, strict=True)) / sum((t - mean_t) ** 2 for t in times)
    rest = sum((v - mean_v - slope * (t - mean_t)) ** 2 for t, v in zip(times, values, strict=True))
    return float((rest / (count - 2)) ** 0.5)


def settings_lines(settings: "ProbeSettings") -> list[Line]:
    """What the board measures with."""
    from panchime.cli.calibrate import kind_words

    lag = f"{settings.lag_in_force_ms / 1000:.1f} s" if settings.lag_in_force_ms else "none"
    whose = "named by the plan" if settings.lag_in_force_ms != settings.lag_ms else "named by the settings"
    if not settings.lag_in_force_ms:
        whose = "nothing is compensated"
    return [
        Line("amplifier", settings.amplifier, True, "the chip in the settings; the self-test says whether that one answers"),
        Line("thermocouple", f"type {settings.thermocouple}", True, "it is printed on the plug or told by the wires' colours"),
        Line("calibration", kind_words(settings.calibration, settings.thermocouple), True, calibration_age(settings)),
        Line("probe lag", lag, True, f"{whose}; 'panchime calibrate lag' measures it"),
        Line("rate window", f"{settings.rate_window_s} s", True, "the rate of rise is that of half as many seconds ago"),
    ]


def calibration_age(settings: "ProbeSettings") -> str:
    """How old the calibration is, by its oldest point."""
    if not settings.calibration:
        return "'panchime calibrate ice' and 'boil' take away most of the probe's and the chip's own error"
    days = []
    for point in settings.calibration["points"]:
        try:
            days.append((date.today() - date.fromisoformat(point["date"])).days)
        except ValueError:
            return "of an unknown day; take it again when in doubt"
    if max(days) > OLD_CALIBRATION_DAYS:
        return f"{max(days)} days old: take it again, probes drift with heat and bending"
    return f"{max(days)} days old"


def flash_line(board: "Board") -> Line:
    """Room for the next roast."""
    from panchime.terminal.words import size
    from panchime_fw.logformat import minutes_left

    free = board.catalogue().free_bytes
    minutes = minutes_left(free)
    well = minutes >= ENOUGH_MINUTES
    words = f"room for {minutes} more minutes of roasting"
    return Line("flash", f"{size(free)} free", well, words if well else f"{words}: 'panchime pull --tidy' makes room")


def clock_line(board: "Board") -> Line:
    """The board's clock beside this computer's."""
    from panchime.link.answers import split_fields, whole

    parts = []
    for question in ("SYSTem:DATE?", "SYSTem:TIME?"):
        parts += [whole(field, question) for field in split_fields(board.client.query(question))]
    try:
        moment = datetime(*parts[:6], tzinfo=UTC)  # type: ignore[misc, arg-type]
    except ValueError:
        return Line("clock", "unusable", False, "unplug the board, plug it in again and check once more")
    off_s = abs((datetime.now(UTC) - moment).total_seconds())
    well = off_s <= CLOCK_OFF_S
    words = "set from this computer just now; it forgets when it loses power"
    if not well:
        words = f"{off_s:.0f} s off although just set"
    return Line("clock", moment.strftime("%Y-%m-%d %H:%M:%S UTC"), well, words)


def plan_line(board: "Board") -> Line:
    """The plan that the next roast follows."""
    from panchime.planfile.keeping import document_of
    from panchime.terminal.safe_text import safe_line
    from panchime_fw.plan import check

    plan = document_of(board.plan_json())
    faults = check(plan)
    if faults:
        return Line("plan", "broken", False, f"{safe_line(faults[0])}; send it again with 'panchime plan send'")
    heater = "a heater on the relay" if plan.get("heater_on_relay") else "no heater on the relay"
    return Line("plan", safe_line(str(plan["name"])), True, f"limit {plan['limit']:g} °{plan.get('unit', 'C')}, {heater}")


def trip_line(board: "Board") -> Line:
    """The cutoff."""
    trip = board.live().trip
    if not trip:
        return Line("cutoff", "not tripped", True, "a limiter for convenience, never the only protection")
    return Line("cutoff", "tripped", False, board.trip_words())


def self_test_line(board: "Board") -> Line:
    """What the board says of itself."""
    from panchime.link.probe import self_test
    from panchime.terminal.safe_text import safe_line

    result, words = self_test(board)
    if result == 0:
        return Line("self-test", "passed", True, "probe, plan, log, cutoff, amplifier and settings, as the board sees them")
    failed = ", ".join(name for bit, name in TESTS.items() if result & bit)
    return Line("self-test", f"failed: {failed}", False, safe_line(words) or "the lines above say why")


def print_table(lines: list[Line], well: bool) -> None:
    """The lines as a table; letters say what is wrong, colour only repeats it."""
    from rich.table import Table

    from panchime.terminal.output import console
    from panchime.terminal.palette import QUIET, TROUBLE
    from panchime.terminal.safe_text import safe_line

    table = Table(box=None, pad_edge=False, show_header=False)
    table.add_column(no_wrap=True)
    table.add_column(no_wrap=True, style="bold")
    table.add_column(overflow="fold")
    table.add_column(overflow="fold", style=QUIET)
    for line in lines:
        sign, style = ("  ", None) if line.well else ("!!", TROUBLE)
        table.add_row(sign, line.name, safe_line(line.found), safe_line(line.words), style=style)
    out = console()
    out.print(table)
    wrong = [line.name for line in lines if not line.well]
    out.print("Everything is well." if well else f"Wrong: {', '.join(wrong)}.", style=None if well else TROUBLE)
