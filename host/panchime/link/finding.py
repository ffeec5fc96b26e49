"""Asking every candidate port who is there."""

from collections.abc import Iterable
from dataclasses import dataclass

from panchime.errors import LinkError
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


def ask(candidate: Candidate) -> Found:
    """Asks one port who is there. Never raises: trouble is part of the answer."""
    try:
        with ScpiClient.open(candidate.url, FIND_TIMEOUT_S) as client:
            return Found(candidate, client.synchronise(gently=True))
    except AtPrompt as error:
        return Found(candidate, None, str(error), at_prompt=True)
    except LinkError as error:
        return Found(candidate, None, str(error))


def ask_all(candidates: Iterable[Candidate]) -> list[Found]:
    """Asks one port after the other."""
    return [ask(candidate) for candidate in candidates]
