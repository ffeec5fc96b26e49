"""How many words MicroPython needs for a call of each function, read from its byte code.

A frame of more than eleven words is taken from the heap at each call and given back after it (`VM_MAX_STATE_ON_STACK` in
MicroPython's `py/objfun.c`): a search through the heap, and after every 16 KB of them a collection in the middle of the roast.
So functions that run with every sample stay at or below it: fewer locals, fewer arguments, shorter expressions.

Layout of the file and of the prelude: MicroPython's `py/persistentcode.c` and `py/bc.h`, version 6.
"""

from collections.abc import Iterator
from types import CodeType

STACK_WORDS = 11
HANDLER_WORDS = 3  # each `try` that can be open at once
HEAD_BYTES = 4
BYTECODE_KIND = 0
OBJECT_TUPLE = 10
# Objects without bytes of their own; strings and bytes have a closing zero (kinds 5 and 6).
BARE_OBJECTS = (0, 1, 2, 3, 4)
CLOSED_OBJECTS = (5, 6)


class _Reader:
    def __init__(self, raw: bytes) -> None:
        self.raw = raw
        self.at = HEAD_BYTES

    def byte(self) -> int:
        self.at += 1
        return self.raw[self.at - 1]

    def number(self) -> int:
        value = 0
        while True:
            byte = self.byte()
            value = value << 7 | byte & 0x7F
            if not byte & 0x80:
                return value

    def skip_name(self) -> None:
        length = self.number()
        if not length & 1:  # odd: the number of a name that the interpreter has
            self.at += (length >> 1) + 1

    def skip_object(self) -> None:
        kind = self.byte()
        if kind in BARE_OBJECTS:
            return
        if kind == OBJECT_TUPLE:
            for _ in range(self.number()):
                self.skip_object()
            return
        length = self.number()
        self.at += length + (kind in CLOSED_OBJECTS)


def frame_words(compiled: bytes) -> list[int]:
    """Words of the module's own frame, then of each function's, class's and comprehension's in the order of the source.

    Raises ValueError for what is no byte code of this version.
    """
    if compiled[:2] != b"M\x06":
        raise ValueError("no MicroPython byte code of version 6")
    reader = _Reader(compiled)
    names, objects = reader.number(), reader.number()
    for _ in range(names):
        reader.skip_name()
    for _ in range(objects):
        reader.skip_object()
    return list(_words(reader))


def _words(reader: _Reader) -> Iterator[int]:
    head = reader.number()
    if head & 3 != BYTECODE_KIND:
        raise ValueError("machine code among the byte code")
    end = reader.at + (head >> 3)
    yield _state_words(reader)
    reader.at = end
    if head & 4:
        for _ in range(reader.number()):
            yield from _words(reader)


def _state_words(reader: _Reader) -> int:
    """The prelude's signature: xSSSSEAA, then as many xFSSKAED as needed; state is S + 1, open handlers E."""
    byte = reader.byte()
    state, handlers, place = byte >> 3 & 15, byte >> 2 & 1, 0
    while byte & 0x80:
        byte = reader.byte()
        state |= (byte & 0x30) << (2 * place)
        handlers |= (byte & 0x02) << place
        place += 1
    return state + 1 + handlers * HANDLER_WORDS


def named_frames(source: str, name: str, compiled: bytes) -> dict[str, int]:
    """The words by qualified name: `RateOfRise.add`. Both compilers find the same functions in the same order."""
    codes = list(_codes(compile(source, name, "exec")))
    words = frame_words(compiled)
    if len(codes) != len(words):
        raise ValueError(f"{name}: {len(codes)} functions here, {len(words)} in its byte code")
    return {code.co_qualname: count for code, count in zip(codes, words, strict=True)}


def _codes(code: CodeType) -> Iterator[CodeType]:
    yield code
    for constant in code.co_consts:
        if isinstance(constant, CodeType):
            yield from _codes(constant)
