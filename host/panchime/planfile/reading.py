"""Plan files: TOML text to the plan's document, and every mistake named with its place."""

import sys
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from panchime.errors import PanchimeError
from panchime.planfile.wire import to_json
from panchime_fw import plan as rules

STANDARD_INPUT = "-"
PLAN_FILE_BYTES_LIMIT = 256 * 1024  # the board keeps 4096 bytes of plan: what is far beyond is no plan file


@dataclass(frozen=True)
class PlanText:
    """A plan as it stands in a file: where it came from, its text with the comments, and the document in it."""

    place: str
    text: str
    document: dict[str, Any]


def read_text(name: str) -> str:
    """The text of a file, or of standard input for ``-``. Raises PanchimeError when it cannot be read as UTF-8."""
    try:
        raw = sys.stdin.buffer.read() if name == STANDARD_INPUT else Path(name).read_bytes()
    except FileNotFoundError:
        raise PanchimeError(f"{name}: there is no such file. 'panchime plan new METHOD {name}' writes one") from None
    except OSError as error:
        raise PanchimeError(f"{name} cannot be read: {error.strerror}") from error
    if len(raw) > PLAN_FILE_BYTES_LIMIT:
        raise PanchimeError(f"{name} is {len(raw)} bytes long: that is no plan file (at most {PLAN_FILE_BYTES_LIMIT} bytes)")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise PanchimeError(f"{name} is not UTF-8 text (byte {error.start + 1}): save it as UTF-8") from error


def parse(text: str, place: str) -> PlanText:
    """The document in TOML text. Raises PanchimeError with line and column when the text is no TOML."""
    try:
        return PlanText(place, text, tomllib.loads(text))
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise PanchimeError(f"{place} is not TOML: {error}") from error


def mistakes(document: dict[str, Any]) -> list[str]:
    """Every mistake in the document, by the board's own rules, and whether the board has room for it."""
    found = [str(sentence) for sentence in rules.check(document)]
    if not found:
        length = len(to_json(document))
        if length > rules.JSON_BYTES_LIMIT:
            found.append(
                f"the plan is {length} bytes long as the board keeps it, and there is room for "
                f"{rules.JSON_BYTES_LIMIT}: "
                "shorten the note or the labels, or drop a milestone"
            )
    return found


def read_plan(name: str) -> PlanText:
    """A plan file's text and document, not checked yet. Raises PanchimeError when it cannot be read."""
    return parse(read_text(name), "standard input" if name == STANDARD_INPUT else name)


def checked(plan: PlanText) -> PlanText:
    """The same plan. Raises PanchimeError that lists every mistake, one a line, when there is any."""
    found = mistakes(plan.document)
    if found:
        count = "1 mistake" if len(found) == 1 else f"{len(found)} mistakes"
        raise PanchimeError("\n".join([f"{plan.place}: {count}", *(f"  {sentence}" for sentence in found)]))
    return plan
