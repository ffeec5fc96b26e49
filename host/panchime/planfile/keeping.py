"""Plans on their way to a board and back, their comments remembered in the journal."""

import json
from typing import Any

from panchime.errors import PanchimeError
from panchime.journal.journal import Journal
from panchime.link.board import Board
from panchime.planfile.reading import PlanText, checked
from panchime.planfile.wire import fingerprint, to_json, to_toml


def send(board: Board, journal: Journal, plan: PlanText) -> None:
    """Checks a plan, sends it, reads it back byte for byte, and remembers its text.

    Raises PanchimeError with every mistake, BoardRefusal with the board's words, LinkError when it came back different.
    """
    plan_json = to_json(checked(plan).document)
    board.define_plan(plan_json)
    journal.remember_plan(fingerprint(plan_json), plan.text)


def read(board: Board, journal: Journal) -> tuple[str, bool]:
    """The plan on the board as TOML text, and whether it is the very text it was sent from, comments and all."""
    plan_json = board.plan_json()
    kept = journal.plan_text(fingerprint(plan_json))
    if kept is not None:
        return kept, True
    return to_toml(document_of(plan_json)), False


def document_of(plan_json: bytes) -> dict[str, Any]:
    """The document in a plan's JSON. Raises PanchimeError when it is none."""
    try:
        document = json.loads(plan_json)
    except ValueError as error:
        raise PanchimeError(f"the plan on the board is no JSON ({error}): send a plan again") from error
    if not isinstance(document, dict):
        raise PanchimeError("the plan on the board is no table of keys and values: send a plan again")
    return document
