"""A mistake in a file's TOML: its line, the place in it, and what belongs there, for people who never heard of TOML."""

import re
import tomllib

PLACE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
SHORTENED = 100  # characters of a line that are shown

VALUE = 'after the = belongs a number, true or false, words in "quotes", or a list in [square brackets]'
ONE_VALUE = "after the value only a remark may follow, and it begins with #"
UNFINISHED = "a list is not closed with ], or the last = has no value"
POINT = "the decimals of a number stand after a point, not a comma: 245.5"
QUOTES = 'words stand in quotes, like "Skillet"'
STRAIGHT = 'the quotes must be straight ones, "like these"'
TRUTH = "write true or false, in small letters, without quotes"
# What tomllib says (CPython's Lib/tomllib/_parser.py) and what it means; the first that fits.
MEANINGS = (
    ("Cannot declare", "a table in [brackets] stands once; milestones are many: each begins with [[milestone]], two brackets"),
    ("Cannot overwrite", "this key stands twice; every key stands once, and once in each [[milestone]]"),
    ("Cannot mutate", "this key stands twice; every key stands once, and once in each [[milestone]]"),
    ("Cannot redefine", "this name stands twice, as a key and as a table"),
    ("Expected '='", "a line is key = value, [[milestone]], or a remark that begins with #; a key has _ for a space"),
    ("Expected ']", "brackets are closed as they were opened: [[milestone]]"),
    ("Unclosed array", "a list is not closed with ], or a comma is missing between two of its values"),
    ("Unterminated string", "the closing quote is missing"),
    ("Illegal character '\\n'", "the closing quote is missing"),
    ("Unescaped '\\'", "a \\ in quotes must be written twice, \\\\, or the words stand in 'single quotes'"),
    ("Invalid statement", "a line is key = value, [[milestone]], or a remark that begins with #"),
)


def explained(text: str, place: str, error: tomllib.TOMLDecodeError) -> str:
    """The error's sentence: the line and column, the line itself with a pointer below, and what was expected there."""
    words = str(error)
    at = PLACE.search(words)
    lines = text.split("\n")
    if at is None or at[1] is None:
        said = words[: at.start()] if at else words
        expected = UNFINISHED if said.startswith("Invalid value") else meaning(said, "", "") or said
        return f"{place}, at the end of the file: {expected}"
    number, column = int(at[1]), int(at[2])
    said = words[: at.start()]
    line = lines[number - 1].rstrip("\r") if number <= len(lines) else ""
    from_here = line[column - 1 :]
    head = f"{place}, line {number}, column {column}: {meaning(said, from_here, line) or said}"
    if not line.strip() or column > SHORTENED:
        return head
    return f"{head}\n  {line[:SHORTENED]}\n  {' ' * (column - 1)}^"


def meaning(said: str, from_here: str, line: str) -> str:
    """What was expected, from what tomllib said, the rest of the line from the place on, and the whole line."""
    here = from_here.strip()
    if said.startswith("Invalid value"):
        if here[:1] in ("\u201c", "\u201d", "\u201e", "\u2018", "\u2019"):
            return STRAIGHT
        first = re.split(r"[\s#]", here, maxsplit=1)[0]
        if first.casefold() in ("true", "false", "yes", "no", "on", "off"):
            return TRUTH
        return QUOTES if first[:1].isalpha() else VALUE
    if said.startswith("Expected newline"):
        before = line[: len(line) - len(from_here)]
        return POINT if re.match(r",\d", here) and re.search(r"=\s*[-+]?\d+$", before) else ONE_VALUE
    return next((words for begin, words in MEANINGS if said.startswith(begin)), "")
