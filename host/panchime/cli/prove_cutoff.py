"""`panchime check --cutoff`: proves the cutoff with a cup of hot water and a limit so low that the water is over it.

The plan that was on the board comes back whatever happens: at the end, at an error, at Ctrl-C; and should the cable have been
torn out, at the next `panchime check`, from a file in the data folder. Until then the board has the lower limit: the safe side.
"""

import json
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from panchime.errors import BoardRefusal, LinkError, PanchimeError
from panchime.journal.head import unit_of
from panchime.planfile.keeping import document_of
from panchime.records.kinds import PROOF_NAME
from panchime.terminal.words import board_words, degrees, in_unit
from panchime_fw import trips
from panchime_fw.cutoff import CLEAR_MARGIN_CENTI

if TYPE_CHECKING:
    from panchime.link.board import Board

TEST_LIMIT_C = 45
TEST_PLAN: dict[str, Any] = {
    "name": PROOF_NAME,
    "method": "other",
    "loads": "cold",
    "heater_on_relay": True,
    "limit": TEST_LIMIT_C,
    "longest_roast_min": 15,
    "marks": ["beans in", "beans out"],
    "note": "Only for panchime check --cutoff: your own plan comes back.",
}
# The cutoff asks for two samples in a row, 0.25 s apart, and the link tells it a little later.
OPEN_WITHIN_S = 1.0
CLEAR_MARGIN_C = CLEAR_MARGIN_CENTI / 100
POLL_S = 0.05
PATIENCE_S = 600.0
START_PATIENCE_S = 5.0

CAUTION = (
    "This closes the relay. Unplug the roaster from the switched socket first and put a lamp there instead.\n"
    "You need a cup of water of 60 °C (140 °F) or more. The water goes nowhere near mains, the board or its cable: only the "
    "probe's tip."
)

Say = Callable[[str], None]
Ask = Callable[[str], bool]
LAMP_QUESTION = "Was the lamp lit, and is it out now? (y/n) "


def proof_plan(unit: str) -> dict[str, Any]:
    """The plan of the proof, in the unit of the person's own."""
    return TEST_PLAN | {"unit": unit, "limit": in_unit(TEST_PLAN["limit"] * 100, unit)}


def kept_plan_file(serial: str) -> Path:
    """Where a board's own plan waits while the proof's plan is on the board."""
    from panchime.data_folder import data_folder

    return data_folder() / f"plan-before-proof-{''.join(letter for letter in serial if letter.isalnum())}.json"


def wait_for_go_ahead(said_yes: bool) -> None:
    """Nothing is switched before the person says so. Raises PanchimeError where nobody can be asked."""
    if said_yes:
        return
    if not sys.stdin.isatty():
        raise PanchimeError("there is nobody to ask: say --yes once the roaster is unplugged from the switched socket")
    input("Press Enter when the roaster is unplugged and the lamp is in (Ctrl-C ends this): ")


def ask_person(question: str) -> bool:
    """A person's yes or no; another answer is asked again. Raises PanchimeError where nobody answers."""
    print(question, end="", file=sys.stderr, flush=True)
    while answer := sys.stdin.readline():
        if answer.strip().lower() in ("y", "yes"):
            return True
        if answer.strip().lower() in ("n", "no"):
            return False
        print("y or n: ", end="", file=sys.stderr, flush=True)
    raise PanchimeError(
        "nobody said whether the lamp went out, and the board cannot see it: the switch is not proven. "
        "Repeat the proof and answer y or n"
    )


def restore_left_over(board: "Board", say: Say) -> bool:
    """Gives a board its own plan back when a proof was cut short. True when that was so."""
    kept = kept_plan_file(board.identity.serial)
    if not kept.is_file():
        return False
    if document_of(board.plan_json()).get("name") == PROOF_NAME:
        give_back(board, kept.read_bytes())
        say("An earlier proof of the cutoff was cut short: the board has its own plan again.")
    kept.unlink()
    return True


def give_back(board: "Board", plan: bytes) -> None:
    """Ends what runs and sends the plan."""
    if board.roast_runs():
        board.client.command("PROGram:STATe STOP")
    board.define_plan(plan)


def prove(board: "Board", say: Say, ask: Ask, patience_s: float = PATIENCE_S) -> float:
    """Walks through the proof; returns how long after the first reading over the limit the relay opened, in s (board's time).

    The board knows only what it commanded: whether the switch obeyed, the person sees by the lamp and is asked.
    Raises PanchimeError when the cutoff or the switch did not do its work, or the person gave up.
    """
    own_plan = board.plan_json()
    unit = unit_of(document_of(own_plan))

    def shown(temperature_c: float) -> str:
        return degrees(round(temperature_c * 100), unit)

    if board.roast_runs():
        raise PanchimeError("a roast runs: prove the cutoff before or after it, not in it")
    before = board.live()
    if before.trip:
        words = board_words(board.trip_words(), unit)
        raise PanchimeError(f"the cutoff has tripped: {words} Clear it first: hold the button for a second")
    if before.temperature_c is None:
        raise PanchimeError("the probe cannot be read: 'panchime check' says why")
    if before.temperature_c > TEST_LIMIT_C - 10:
        raise PanchimeError(
            f"the probe is at {shown(before.temperature_c)}: let it cool below {shown(TEST_LIMIT_C - 10)}, then begin again"
        )
    kept = kept_plan_file(board.identity.serial)
    kept.write_bytes(own_plan)
    try:
        board.define_plan(json.dumps(proof_plan(unit)).encode())
        start(board)
        if not wait_for(lambda: board.live().relay_closed, 5.0):
            raise PanchimeError("the relay did not close, so nothing can be proven: 'panchime check' says what is wrong")
        say("The board has closed the relay. LOOK: the lamp must be lit; if not, nothing is proven.")
        say(f"Hold the probe's tip into the hot water. The limit is {shown(TEST_LIMIT_C)}.")
        late_s = watch_it_open(board, patience_s)
        say(
            f"The board opened the relay {late_s:.2f} s after the first reading over the limit. LOOK: the lamp must be out and "
            "the alarm must sound. Lamp still lit: pull the plug and do not roast with this switch."
        )
        if not ask(LAMP_QUESTION):
            raise PanchimeError(
                "the switch is not proven. A lamp that stayed lit: pull the plug, the switch is stuck or wired wrongly; do not "
                "roast with it. A lamp that was never lit: look at its plug and its switch, then begin again"
            )
        say("Take the probe out of the water, and let it cool.")
        clear_when_cool(board, say, patience_s)
    finally:
        try:
            give_back(board, own_plan)
            kept.unlink()
            say("The board has its own plan and its own limit again.")
        except LinkError as error:
            say(f"The board could not be reached ({error}). It keeps the low limit, the safe side:")
            say("run 'panchime check' once it is back, and its own plan returns.")
    return late_s


def start(board: "Board") -> None:
    """Starts the proof's plan; a board that has just been switched on is given a few seconds to look at its amplifier."""
    deadline = time.monotonic() + START_PATIENCE_S
    while True:
        try:
            board.client.command("PROGram:STATe RUN")
            return
        except BoardRefusal:
            if time.monotonic() > deadline:
                raise
            time.sleep(0.2)


def watch_it_open(board: "Board", patience_s: float) -> float:
    """Follows the reading over the limit and the relay after it, by the board's own clock."""
    deadline = time.monotonic() + patience_s
    over_ms = None
    while time.monotonic() < deadline:
        live = board.live()
        if live.temperature_c is not None and live.temperature_c >= TEST_LIMIT_C and over_ms is None:
            over_ms = live.uptime_ms
        if not live.relay_closed:
            if live.trip != trips.OVER_LIMIT or over_ms is None:
                raise PanchimeError(f"the relay opened, but not for the limit: {board.trip_words() or 'no trip was told'}")
            return (live.uptime_ms - over_ms) / 1000
        if over_ms is not None and live.uptime_ms - over_ms > OPEN_WITHIN_S * 1000:
            board.client.command("OUTPut OFF")
            raise PanchimeError(
                f"the relay was still closed {OPEN_WITHIN_S:g} s after the limit. Do not roast with this board: "
                "install the firmware again and repeat the proof"
            )
        time.sleep(POLL_S)
    raise PanchimeError("the water never came over the limit: it must be 60 °C (140 °F) or more; begin again")


def clear_when_cool(board: "Board", say: Say, patience_s: float) -> None:
    """Clears the trip of the proof once the board lets it."""
    deadline = time.monotonic() + patience_s
    board.client.command("PROGram:STATe STOP")
    while time.monotonic() < deadline:
        live = board.live()
        if live.temperature_c is not None and live.temperature_c < TEST_LIMIT_C - CLEAR_MARGIN_C:
            try:
                board.client.command("OUTPut:PROTection:CLEar")
            except BoardRefusal:
                pass  # the board goes by its filtered temperature, which comes a little later
            else:
                say("The trip is cleared.")
                return
        time.sleep(POLL_S)
    say("The probe has not cooled: the trip stays. Hold the button for a second later to clear it.")


def wait_for(condition: Callable[[], bool], patience_s: float) -> bool:
    deadline = time.monotonic() + patience_s
    while time.monotonic() < deadline:
        if condition():
            return True
        time.sleep(POLL_S)
    return False
