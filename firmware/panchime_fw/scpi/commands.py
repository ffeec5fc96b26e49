"""The table of commands: pattern, handler(device, parameters), parameter types, help.

Types: i whole number, n number, b ON/OFF, s string, w word, k block; a question mark after one makes it optional.
docs/scpi.md is made from this table.
"""

from array import array
from binascii import crc32

from . import common, errors, headers, measuring, message, roasting, storage, system, wiring
from .errors import ScpiError

TABLE = common.TABLE + system.TABLE + measuring.TABLE + roasting.TABLE + storage.TABLE + wiring.TABLE

_KINDS = {"i": message.NUMBER, "n": message.NUMBER, "s": message.STRING, "w": message.WORD, "k": message.BLOCK}


def _sum(spelling: str) -> int:
    return crc32(spelling.encode()) & 0xFFFF


def _index() -> tuple:
    """The sum of each short spelling, and its row in the table.

    Parsing eighty patterns for each message would hold the loop of a small board for a tenth of a second, and the spellings
    themselves would take 4 KB of its heap.
    """
    sums = array("H")
    rows = bytearray()
    for at, row in enumerate(TABLE):
        for spelling in headers.short_spellings(row[0]):
            sums.append(_sum(spelling))
            rows.append(at)
    return sums, rows


_SUMS, _ROWS = _index()


def find(words, is_query: bool):
    """The table's row for the words of a header. Raises ScpiError when there is none."""
    for word in words:
        if len(word) > headers.MNEMONIC_LIMIT:
            raise ScpiError(errors.MNEMONIC_TOO_LONG, word)
    row = _row_of(words, is_query)
    if row is not None:
        return row
    if words[-1][-1:].isdigit() or words[0][-1:].isdigit():
        bare = [word.rstrip("0123456789") for word in words]
        if all(bare) and _row_of(bare, is_query) is not None:
            raise ScpiError(errors.SUFFIX_OUT_OF_RANGE, ":".join(words))
    raise ScpiError(errors.UNDEFINED_HEADER, ":".join(words))


def _row_of(words, is_query: bool):
    spelling = ":".join([headers.short_form(word) for word in words]) + ("?" if is_query else "")
    wanted = _sum(spelling)
    # By number: `enumerate` would make a tuple for each of them, at every command.
    for at in range(len(_SUMS)):
        if _SUMS[at] == wanted:
            row = TABLE[_ROWS[at]]
            # Two spellings may have one sum, and "SYSTEX" shortens to SYST as well: only the pattern itself tells.
            if row[0].endswith("?") == is_query and headers.matches(headers.nodes(row[0]), words):
                return row
    return None


def convert(types: str, parameters) -> list:
    """The parameters as the handler wants them. Raises ScpiError for too many, too few or of another kind."""
    values = []
    at = 0
    for kind, value in parameters:
        if at >= len(types):
            raise ScpiError(errors.PARAMETER_NOT_ALLOWED)
        values.append(_convert_one(types[at], kind, value))
        at += 2 if types[at + 1 : at + 2] == "?" else 1
    if at < len(types) and types[at + 1 : at + 2] != "?":
        raise ScpiError(errors.MISSING_PARAMETER)
    return values


def _convert_one(letter: str, kind: str, value):
    if letter == "b":
        return _boolean(kind, value)
    if kind != _KINDS[letter]:
        raise ScpiError(errors.DATA_TYPE, "a %s is wanted" % _KINDS[letter])
    if letter in "in":
        found = message.number(value)
        if letter == "i":
            if found != int(found):
                raise ScpiError(errors.OUT_OF_RANGE, "a whole number is wanted")
            return int(found)
        return found
    return value


def _boolean(kind: str, value) -> bool:
    if kind == message.WORD and value in ("ON", "OFF"):
        return value == "ON"
    if kind == message.NUMBER:
        # SCPI-1999 volume 1, 7.3: a number is rounded, and anything but 0 is ON.
        return int(round(message.number(value))) != 0
    raise ScpiError(errors.ILLEGAL_VALUE, "ON or OFF")
