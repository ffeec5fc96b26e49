"""In which line of a plan file a mistake stands: the board's rules know the document, not the text it came from."""

import re
from typing import Any

# How panchime_fw.plan_rules names a place: "milestone 2 'Yellow': rises_to ...", "mark 3: ...", "limit ...", "'limt' is not".
IN_A_TABLE = re.compile(r"(milestone|pace) (\d+)(?: '.*?')?: (.*)", re.DOTALL)
IN_A_LIST = re.compile(r"(guide) point \d+: |(mark)s? \d+: ")
KEY = re.compile(r"'?(\w+)'?")
HEADER = re.compile(r"\s*\[\[?\s*[A-Za-z]")  # not a row of the guide, which begins with a number


def line_of(sentence: str, text: str, document: dict[str, Any]) -> int | None:
    """The number of the line, from 1, that the sentence is about; None where the text does not show it beyond doubt."""
    lines = text.splitlines()
    headers = [number for number, line in enumerate(lines) if HEADER.match(line)] + [len(lines)]
    if len(headers) - 1 != sum(len(value) for value in document.values() if is_tables(value)):
        return None  # what looks like a header stands in a text, or a header is written in a way of its own
    in_table = IN_A_TABLE.match(sentence)
    if in_table is None:
        in_list = IN_A_LIST.match(sentence)
        key = "guide" if in_list and in_list[1] else "marks" if in_list else first_word(sentence)
        return line_of_key(key, lines, 0, headers[0])
    name, position, rest = in_table[1], int(in_table[2]), in_table[3]
    begins = [number for number in headers[:-1] if re.match(rf"\s*\[\[\s*{name}\s*\]\]", lines[number])]
    if position > len(begins):
        return None
    begin = begins[position - 1]
    end = headers[headers.index(begin) + 1]
    return line_of_key(first_word(rest), lines, begin + 1, end) or begin + 1


def is_tables(value: Any) -> bool:
    """Whether a value was written as tables, each under a header of its own."""
    return isinstance(value, list) and bool(value) and all(isinstance(item, dict) for item in value)


def first_word(sentence: str) -> str:
    """The key that a sentence begins with."""
    found = KEY.match(sentence)
    return found[1] if found else ""


def line_of_key(key: str, lines: list[str], begin: int, end: int) -> int | None:
    """The line from 1 in which a key is given its value, when there is one such line between the two."""
    given = re.compile(rf"\s*[\"']?{re.escape(key)}[\"']?\s*=")
    found = [number for number in range(begin, end) if key and given.match(lines[number])]
    return found[0] + 1 if len(found) == 1 else None
