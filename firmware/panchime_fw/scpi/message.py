"""Splits a message into its units, and a unit into header and parameters (IEEE 488.2 chapter 7)."""

from . import errors
from .errors import ScpiError

NUMBER = "number"
WORD = "word"
STRING = "string"
BLOCK = "block"

_BLANK = b" \t"


def units(message: bytes):
    """Yields (header, parameters) of each unit; parameters are (kind, value) pairs. Raises ScpiError at a broken one."""
    at = 0
    while at < len(message):
        end = _element_end(message, at, b";")
        header, parameters = _split_unit(message[at:end])
        if header:
            yield header, parameters
        at = end + 1


def _element_end(message: bytes, at: int, ends: bytes) -> int:
    """Index of the first of `ends` that stands in no string and no block, or the length."""
    while at < len(message):
        byte = message[at]
        if byte in ends:
            return at
        if byte == 34 or byte == 39:
            closing = message.find(bytes((byte,)), at + 1)
            at = len(message) if closing < 0 else closing + 1
        elif byte == 35:
            at = _block_span(message, at)[1]
        else:
            at += 1
    return at


def _block_span(message: bytes, at: int) -> tuple:
    """(first byte of the content, end) of the block that begins at `at`; an unreadable one ends after its mark."""
    if at + 1 >= len(message) or not 49 <= message[at + 1] <= 57:
        return at + 1, at + 1
    first = at + 2 + message[at + 1] - 48
    digits = message[at + 2 : first]
    if not digits.isdigit():
        return at + 1, at + 1
    return first, min(first + int(digits), len(message))


def _split_unit(unit: bytes) -> tuple:
    unit = unit.strip(b" \t\r\n")
    end = 0
    while end < len(unit) and unit[end] not in _BLANK:
        if not 32 < unit[end] < 127:
            raise ScpiError(errors.INVALID_CHARACTER)
        end += 1
    header = str(unit[:end], "ascii").upper()
    rest = unit[end:].strip(_BLANK)
    parameters = []
    at = 0
    while at < len(rest):
        stop = _element_end(rest, at, b",")
        parameters.append(_parameter(rest[at:stop].strip(_BLANK)))
        at = stop + 1
        if at == len(rest):
            raise ScpiError(errors.SYNTAX, "a comma must be followed by a parameter")
    return header, parameters


def _parameter(text: bytes) -> tuple:
    if not text:
        raise ScpiError(errors.SYNTAX, "a parameter is empty")
    first = text[0]
    if first == 34 or first == 39:
        if len(text) < 2 or text[-1] != first:
            raise ScpiError(errors.INVALID_STRING, "the closing quote is missing")
        quote = chr(first)
        return STRING, _decoded(text[1:-1]).replace(quote + quote, quote)
    if first == 35:
        start, end = _block_span(text, 0)
        if end != len(text) or end - start != _declared(text, start):
            raise ScpiError(errors.INVALID_BLOCK, "the block's length and its content disagree")
        return BLOCK, text[start:end]
    word = _decoded(text)
    if first in b"+-.0123456789":
        return NUMBER, word
    return WORD, word.upper()


def _declared(text: bytes, start: int) -> int:
    return int(text[2:start]) if start > 2 else -1


def _decoded(text: bytes) -> str:
    for byte in text:
        if not 32 <= byte < 127:
            raise ScpiError(errors.INVALID_CHARACTER)
    return str(text, "ascii")


def number(text: str):
    """A decimal number of IEEE 488.2 7.7.2 as int where it is one, else float. Raises ScpiError."""
    try:
        return int(text)
    except ValueError:
        pass
    try:
        value = float(text)
    except ValueError:
        raise ScpiError(errors.NUMERIC_DATA, text)
    if not -1e12 < value < 1e12:
        raise ScpiError(errors.OUT_OF_RANGE, text)
    return value
