"""Puts the pieces together: what main.py runs."""

from . import __version__
from .amplifier import decoder_for
from .board import Board
from .instrument import Instrument
from .logbook import Logbook
from .loop import SAMPLE_MS, Loop
from .plan_store import NAME, PlanStore
from .session import Session
from .store import Store
from .uptime import Uptime

STATE_FOLDER = "state"
LOG_FOLDER = "log"
AMPLIFIER = "MAX31855"
THERMOCOUPLE = "K"


def next_boot() -> int:
    """Counts this power-on; the number orders the roasts of a board that has no clock."""
    store = Store(STATE_FOLDER, "boot")
    try:
        boot = int(store.load() or "0") + 1
    except ValueError:
        boot = 1
    store.save(str(boot))
    return boot


def build() -> Loop:
    decoder = decoder_for(AMPLIFIER, THERMOCOUPLE)
    board = Board(decoder)
    uptime = Uptime(board.ticks_ms())
    boot = next_boot()
    log = Logbook(LOG_FOLDER)
    log.recover()
    plan_store = PlanStore(Store(STATE_FOLDER, NAME))
    plan = plan_store.load()
    def head(number: int) -> dict:
        return {
            "format": 1,
            "board": board.serial,
            "model": board.model,
            "firmware": __version__,
            "number": number,
            "boot": boot,
            "uptime_ms": uptime.ms(),
            "utc": instrument.utc(),
            "amplifier": decoder.name,
            "thermocouple": THERMOCOUPLE,
            "calibration": None,
            "sample_ms": SAMPLE_MS,
            "plan": session.plan.document,
        }

    session = Session(board.relay, board.tone, log, head, plan)
    instrument = Instrument(board, session, log, plan_store, boot, uptime, decoder.name, THERMOCOUPLE)
    return Loop(board, decoder, session, instrument, uptime)
