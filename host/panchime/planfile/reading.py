"""Plan files: TOML text to the plan's document, and every mistake named with its place."""

import re
import sys
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from panchime.errors import PanchimeError
from panchime.planfile.mistake_lines import line_of
from panchime.planfile.toml_mistakes import explained
from panchime.planfile.wire import to_json
from panchime.terminal.command_line import command_line
from panchime.terminal.near_words import did_you_mean
from panchime_fw import plan as rules

STANDARD_INPUT = "-"
# How panchime_fw.plan and panchime_fw.sounds say that a word is not known: the word, and the known ones.
UNKNOWN_WORD = (
    re.compile(r"'([^']*)' is not a key of a plan; known are: (.*)$"),
    re.compile(r"'([^']*)' is not known; write one of: ([^;]*)(?:;.*)?$"),
    re.compile(r"'([^']*)' is not one of this plan's marks: (.*)$"),
    re.compile(r"'([^']*)' is neither 'start' nor one of this plan's marks: (.*)$"),
)
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
        raise PanchimeError(
            f"{name}: there is no such file. This writes one, METHOD being how you roast:\n  "
            + command_line(["plan", "new", "METHOD", name])
        ) from None
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
    except tomllib.TOMLDecodeError as error:
        raise PanchimeError(explained(text, place, error)) from error
    except RecursionError as error:
        raise PanchimeError(f"{place}: brackets stand in brackets too many times; a plan needs three levels") from error


def mistakes(document: dict[str, Any]) -> list[str]:
    """Every mistake in the document, by the board's own rules, and whether the board has room for it."""
    found = [with_guess(str(sentence)) for sentence in rules.check(document)]
    if not found:
        length = len(to_json(document))
        if length > rules.JSON_BYTES_LIMIT:
            found.append(
                f"the plan is {length} bytes long as the board keeps it, and there is room for "
                f"{rules.JSON_BYTES_LIMIT}: "
                "shorten the note or the labels, or drop a milestone"
            )
    return found


def with_guess(sentence: str) -> str:
    """A mistake with the known word that was meant, where one is near; the board's rules list the words, and cannot guess."""
    for form in UNKNOWN_WORD:
        found = form.search(sentence)
        if found:
            return sentence + did_you_mean(found[1], found[2].split(", "))
    return sentence


def with_line(sentence: str, plan: PlanText) -> str:
    """A mistake behind the number of its line, where the text shows it."""
    line = line_of(sentence, plan.text, plan.document)
    return sentence if line is None else f"line {line}: {sentence}"


def read_plan(name: str) -> PlanText:
    """A plan file's text and document, not checked yet. Raises PanchimeError when it cannot be read."""
    return parse(read_text(name), "standard input" if name == STANDARD_INPUT else name)


def checked(plan: PlanText) -> PlanText:
    """The same plan. Raises PanchimeError that lists every mistake, one a line, when there is any."""
    found = mistakes(plan.document)
    if found:
        count = "1 mistake" if len(found) == 1 else f"{len(found)} mistakes"
        raise PanchimeError("\n".join([f"{plan.place}: {count}", *(f"  {with_line(sentence, plan)}" for sentence in found)]))
    return plan
