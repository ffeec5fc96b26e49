"""Puts the pieces together: what main.py runs."""

from . import __version__
from .board import Board
from .chain import Chain
from .guard_record import GuardRecord
from .instrument import Instrument
from .logbook import Logbook
from .loop import SAMPLE_MS, Loop
from .plan_store import NAME, PlanStore
from .popper_rest import PopperRest
from .room import Room
from .session import Session
from .settings import NAME as SETTINGS_NAME
from .settings_store import SettingsStore
from .store import Store
from .trips import NONE
from .uptime import Uptime

STATE_FOLDER = "state"
LOG_FOLDER = "log"


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
    settings_store = SettingsStore(Store(STATE_FOLDER, SETTINGS_NAME))
    settings = settings_store.load()
    chain = Chain(settings, settings_store.is_damaged)
    board = Board(chain.decoder, settings)
    chain.connect(board)
    uptime = Uptime(board.ticks_ms())
    boot = next_boot()
    log = Logbook(LOG_FOLDER)
    log.recover()
    room = Room(log)
    room.recover()
    plan_store = PlanStore(Store(STATE_FOLDER, NAME))
    plan = plan_store.load()
    record = GuardRecord(Store(STATE_FOLDER, "guard"))
    rest = PopperRest(Store(STATE_FOLDER, "rest"), board.ticks_ms())

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
            "amplifier": chain.settings.amplifier,
            "thermocouple": chain.settings.thermocouple,
            "calibration": chain.settings.document["calibration"],
            "sample_ms": SAMPLE_MS,
            "plan": session.plan.document,
        }

    session = Session(board.relay, board.tone, log, head, plan, record, rest, room)
    session.take_settings(settings)
    reason, reading_centi, limit_centi = record.load()
    if reason != NONE:
        session.come_back_tripped(reason, reading_centi, limit_centi, board.ticks_ms())
    session.look_at_room(board.ticks_ms())
    instrument = Instrument(board, session, log, plan_store, boot, uptime, chain, settings_store, room)
    return Loop(board, chain, session, instrument, uptime)
