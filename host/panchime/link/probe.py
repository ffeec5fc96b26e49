"""What a board measures with, and what it reads at this moment, by its meaning."""

from dataclasses import dataclass
from typing import Any

from panchime.errors import LinkError
from panchime.link.answers import number, quoted, split_fields, whole
from panchime.link.board import Board

TRANSDUCER = "SENSe:TEMPerature:TRANsducer"
SELF_TEST_ERROR = -330
ERRORS_READ_AT_MOST = 32

Calibration = dict[str, Any]


@dataclass(frozen=True)
class Moment:
    """One reading: milliseconds since the board's start, degC before and after its calibration; None while faulty."""

    uptime_ms: int
    uncalibrated_c: float | None
    measured_c: float | None


@dataclass(frozen=True)
class ProbeSettings:
    """What the board measures with. `calibration` is a document of panchime_fw.calibration, None without one.

    `lag_ms` is that of the settings, `lag_in_force_ms` what holds with the plan on the board.
    """

    amplifier: str
    thermocouple: str
    rate_window_s: int
    lag_ms: int
    lag_in_force_ms: int
    calibration: Calibration | None


def read_moment(board: Board) -> Moment:
    """The reading now, in one question, so that all of it belongs together."""
    question = "MEASure:TEMPerature:UNCalibrated?;:MEASure:TEMPerature?;:SYSTem:UPTime?"
    answers = board.client.query(question).split(";")
    if len(answers) != 3:
        raise LinkError(f"the board's answer to {question} has {len(answers)} parts, 3 belong there")
    fields = split_fields(answers[2])
    return Moment(whole(fields[1], question), number(answers[0], question), number(answers[1], question))


def read_settings(board: Board) -> ProbeSettings:
    """The settings of amplifier and probe."""
    lag = f"{TRANSDUCER}:LAG?"
    window = "SENSe:TEMPerature:RATE:WINDow?"
    lags = split_fields(board.client.query(lag))
    if len(lags) != 2:
        raise LinkError(f"the board's answer to {lag} is {lags!r}: two numbers belong there")
    return ProbeSettings(
        amplifier=board.client.query(f"{TRANSDUCER}:AMPLifier?"),
        thermocouple=board.client.query(f"{TRANSDUCER}:TCouple:TYPE?"),
        rate_window_s=whole(board.client.query(window), window),
        lag_ms=whole(lags[0], lag),
        lag_in_force_ms=whole(lags[1], lag),
        calibration=read_calibration(board),
    )


def read_calibration(board: Board) -> Calibration | None:
    """The calibration in force, None when there is none."""
    question = f"{TRANSDUCER}:CALibration?"
    fields = split_fields(board.client.query(question))
    if fields == [""]:
        return None
    if len(fields) % 4:
        raise LinkError(f"the board's answer to {question} has {len(fields)} fields: four a point belong there")
    points = []
    for at in range(0, len(fields), 4):
        shown_c, true_c = number(fields[at], question), number(fields[at + 1], question)
        if shown_c is None or true_c is None:
            raise LinkError(f"the board's answer to {question} has a point without temperatures: {fields!r}")
        points.append(
            {
                "shown_centi": round(shown_c * 100),
                "true_centi": round(true_c * 100),
                "how": fields[at + 2],
                "date": fields[at + 3],
            }
        )
    return {"points": points}


def store_calibration(board: Board, calibration: Calibration | None) -> None:
    """Keeps a calibration on the board, or clears it. Raises BoardRefusal with the board's words."""
    if calibration is None:
        board.client.command(f"{TRANSDUCER}:CALibration:CLEar")
        return
    parts = [
        f"{point['shown_centi'] / 100:.2f},{point['true_centi'] / 100:.2f},{quoted(point['how'])},{quoted(point['date'])}"
        for point in calibration["points"]
    ]
    board.client.command(f"{TRANSDUCER}:CALibration {','.join(parts)}")


def store_lag(board: Board, lag_s: float) -> None:
    """Keeps the probe's lag in the board's settings."""
    board.client.command(f"{TRANSDUCER}:LAG {lag_s:.1f}")


def read_cold_junction_c(board: Board) -> float | None:
    """The amplifier's own temperature; None when its chip does not tell it."""
    question = f"{TRANSDUCER}:TCouple:RJUNction?"
    return number(board.client.query(question), question)


def read_fault(board: Board) -> int:
    """The probe's fault, a number of panchime_fw.faults."""
    question = f"{TRANSDUCER}:FAULt?"
    return whole(split_fields(board.client.query(question))[0], question)


def self_test(board: Board) -> tuple[int, str]:
    """The board's verdict on itself: the sum of what failed, and its own words about that."""
    result = whole(board.client.query("*TST?"), "*TST?")
    words = ""
    for _ in range(ERRORS_READ_AT_MOST):
        fields = split_fields(board.client.query("SYSTem:ERRor?"))
        code = whole(fields[0], "SYSTem:ERRor?")
        if code == 0:
            break
        if code == SELF_TEST_ERROR:
            words = fields[1].partition(";")[2]
    return result, words
