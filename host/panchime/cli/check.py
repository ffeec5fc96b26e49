"""`panchime check`: is the board fit for the next roast? One line for each thing, with a word on what it means."""

import argparse
import time
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from panchime.link.anchor import Anchor
    from panchime.link.board import Board
    from panchime.link.probe import ProbeSettings

SECONDS = 5.0
# A MAX31855's last bit flickers by 0.1 to 0.2 degC; several times that is a loose contact or a motor beside the wire.
NOISE_LIMIT_C = 0.8
# Where the cutoff calls the board too hot, and where a Pico is not specified any more.
COLD_JUNCTION_C = (-20.0, 70.0)
# Metal that is held burns from 48 to 51 degC on (from memory of EN ISO 13732-1); a little below it.
TOUCHED_UP_TO_C = 45.0
TOUCH = "warm the tip between two fingers: it must rise"
HOT = "hot: do not touch; let it cool"
ENOUGH_MINUTES = 30
CLOCK_OFF_S = 2.0
VIRTUAL_MODEL = "virtual board"  # as panchime_fw.board names it
USUAL_SPEED_WITHIN = 0.02  # no crystal is off by as much
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
        description="Looks at the probe, its amplifier and calibration, the room for roasts, the clock, the plan and the "
        "cutoff. A good check is no protection: stay with the roast. For other programs: the exit status is 1 when something "
        "is wrong.",
    )
    parser.add_argument(
        "--seconds",
        type=float,
        default=SECONDS,
        metavar="S",
        help=f"for how many seconds to watch whether the probe reads steadily (default: {SECONDS:g})",
    )
    parser.add_argument(
        "--cutoff",
        action="store_true",
        help="prove the cutoff with a cup of hot water, a lamp and a low limit; your own limit comes back whatever happens",
    )
    parser.add_argument("--yes", action="store_true", help="with --cutoff: the roaster is unplugged, do not ask")
    parser.add_argument("--json", action="store_true", help="as JSON, for other programs")
    add_port_option(parser)


def run(options: argparse.Namespace) -> int:
    """Checks; 1 when something is wrong."""
    from panchime.cli.boards import open_board
    from panchime.cli.prove_cutoff import CAUTION, ask_person, prove, restore_left_over, wait_for_go_ahead
    from panchime.terminal.output import note, print_json

    with open_board(options.port) as board:
        restore_left_over(board, note)
        if options.cutoff:
            note(CAUTION)
            wait_for_go_ahead(options.yes)
            prove(board, note, ask_person)
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
    from panchime.journal.head import unit_of
    from panchime.link.probe import read_settings
    from panchime.planfile.keeping import document_of

    settings = read_settings(board)
    plan = document_of(board.plan_json())
    unit = unit_of(plan)
    begun = board.anchor()
    return [
        board_line(board),
        *probe_lines(board, seconds, unit),
        *settings_lines(settings, unit),
        flash_line(board),
        clock_line(board, begun),
        plan_line(plan),
        trip_line(board, unit),
        self_test_line(board),
    ]


def board_line(board: "Board") -> Line:
    """Who is there."""
    identity = board.identity
    return Line("board", identity.model, True, f"serial number {identity.serial}, firmware {identity.firmware}")


def probe_lines(board: "Board", seconds: float, unit: str) -> list[Line]:
    """Fault, reading, noise and cold junction."""
    from panchime.link.probe import read_cold_junction_c, read_fault
    from panchime.terminal.words import NOTHING, degrees, degrees_apart
    from panchime_fw import faults

    fault = read_fault(board)
    lines = [Line("probe", "good" if fault == faults.NONE else faults.NAMES[fault], fault == faults.NONE, faults.ADVICE[fault])]
    values, noise_c = listen(board, seconds)
    if values:
        lines.append(
            Line("reading", degrees(round(values[-1] * 100), unit, 2), True, TOUCH if values[-1] <= TOUCHED_UP_TO_C else HOT)
        )
        quiet = noise_c <= NOISE_LIMIT_C
        lines.append(
            Line(
                "noise",
                degrees_apart(noise_c, unit),
                quiet,
                f"how far the readings of {seconds:g} s lie apart; the amplifier's own step is "
                f"{degrees_apart(0.06, unit)} to {degrees_apart(0.25, unit)}"
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
        lines.append(Line("cold junction", degrees(round(cold_c * 100), unit, 2), well, words))
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


def settings_lines(settings: "ProbeSettings", unit: str) -> list[Line]:
    """What the board measures with."""
    from panchime.terminal.calibration_words import kind_words

    lag = f"{settings.lag_in_force_ms / 1000:.1f} s" if settings.lag_in_force_ms else "none"
    whose = "named by the plan" if settings.lag_in_force_ms != settings.lag_ms else "named by the settings"
    if not settings.lag_in_force_ms:
        whose = "nothing is compensated"
    return [
        Line("amplifier", settings.amplifier, True, "the chip in the settings; the self-test says whether that one answers"),
        Line("thermocouple", f"type {settings.thermocouple}", True, "it is printed on the plug or told by the wires' colours"),
        Line("calibration", kind_words(settings.calibration, settings.thermocouple, unit), True, calibration_age(settings)),
        Line("probe lag", lag, True, f"{whose}; 'panchime calibrate lag' measures it"),
        Line("rate window", f"{settings.rate_window_s} s", True, rate_words(settings.rate_window_s)),
    ]


def rate_words(window_s: int) -> str:
    """What the window means for what is shown: a line through it tells of its middle."""
    return f"the rate of rise is measured over {window_s} s, so it tells of about {window_s / 2:g} s ago"


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
    return Line("memory", f"{size(free)} free", well, words if well else f"{words}: 'panchime pull --tidy' makes room")


def clock_line(board: "Board", begun: "Anchor") -> Line:
    """The board's clock beside this computer's; ``begun`` is the anchor of some seconds ago, which tells how fast it runs.

    The time of a virtual board may run at any speed, as it was told to: such a clock is not judged.
    """
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
        speed = speed_since(begun, board.anchor())
        if board.identity.model == VIRTUAL_MODEL and abs(speed - 1) > USUAL_SPEED_WITHIN:
            well = True
            words = f"not judged: this virtual board's time runs {speed:.3g} times as fast as yours, as it was started"
    return Line("clock", moment.strftime("%Y-%m-%d %H:%M:%S UTC"), well, words)


def speed_since(begun: "Anchor", now: "Anchor") -> float:
    """How many milliseconds of the board pass in one of this computer's; 1 where that cannot be told."""
    passed_ms = now.utc_ms - begun.utc_ms
    if begun.boot != now.boot or passed_ms <= 0:
        return 1.0
    return (now.uptime_ms - begun.uptime_ms) / passed_ms


def plan_line(plan: dict[str, Any]) -> Line:
    """The plan that the next roast follows."""
    from panchime.terminal.safe_text import safe_line
    from panchime_fw.plan import check

    faults = check(plan)
    if faults:
        return Line("plan", "broken", False, f"{safe_line(faults[0])}; send it again with 'panchime plan send'")
    heater = "a heater on the relay" if plan.get("heater_on_relay") else "no heater on the relay"
    return Line("plan", safe_line(str(plan["name"])), True, f"limit {plan['limit']:g} °{plan.get('unit', 'C')}, {heater}")


def trip_line(board: "Board", unit: str) -> Line:
    """The cutoff."""
    from panchime.terminal.words import board_words

    trip = board.live().trip
    if not trip:
        return Line("cutoff", "not tripped", True, "a limiter for convenience, never the only protection")
    return Line("cutoff", "tripped", False, board_words(board.trip_words(), unit))


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
