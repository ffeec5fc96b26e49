"""Asking every candidate port who is there."""

from collections.abc import Iterable
from dataclasses import dataclass

from panchime.errors import LinkError, PanchimeError
from panchime.link.board import Board
from panchime.link.ports import Candidate
from panchime.link.scpi_client import AtPrompt, Identity, ScpiClient

FIND_TIMEOUT_S = 1.0  # a board answers within milliseconds; a stranger is not waited for


@dataclass(frozen=True)
class Found:
    """A candidate that was asked: the board that answered, or why there is none."""

    candidate: Candidate
    identity: Identity | None
    trouble: str = ""
    at_prompt: bool = False
    minutes_left: int | None = None


def ask(candidate: Candidate, with_room: bool = False) -> Found:
    """Asks one port who is there, and how many minutes of roast still fit. Never raises: trouble is part of the answer."""
    try:
        with ScpiClient.open(candidate.url, FIND_TIMEOUT_S) as client:
            identity = client.synchronise(gently=True)
            return Found(candidate, identity, minutes_left=room_of(client, identity) if with_room else None)
    except AtPrompt as error:
        return Found(candidate, None, str(error), at_prompt=True)
    except LinkError as error:
        return Found(candidate, None, str(error))


def room_of(client: ScpiClient, identity: Identity) -> int | None:
    """Minutes of roast that still fit; None when the board does not say."""
    try:
        return Board(client, identity).room().minutes_left
    except PanchimeError:
        return None


def ask_all(candidates: Iterable[Candidate], with_room: bool = False) -> list[Found]:
    """Asks one port after the other."""
    return [ask(candidate, with_room) for candidate in candidates]
