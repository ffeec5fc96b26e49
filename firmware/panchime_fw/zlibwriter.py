"""Packs bytes into a zlib stream (RFC 1950) of one block with fixed Huffman codes (RFC 1951, 3.2.6).

The board's MicroPython can unpack such streams and not make them. Any zlib reads what this writes. It is used once a
roast, for the head, which would otherwise be a quarter of the file.
"""

from array import array

_SHORTEST = 3
_LONGEST = 258
_FARTHEST = 32768
_BUCKETS = 256
_CHAIN = 16  # places that are looked at: more finds little in text of this length
_WORTH_CODING = 4  # a match of three costs about as many bits as its letters

# RFC 1951, 3.2.5: how many extra bits each length code (from 257) and each distance code (from 0) takes.
_LENGTH_BITS = (0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2, 3, 3, 3, 3, 4, 4, 4, 4, 5, 5, 5, 5)
_DISTANCE_BITS = (0, 0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5, 6, 6, 7, 7, 8, 8, 9, 9, 10, 10, 11, 11, 12, 12, 13, 13)


class _Bits:
    def __init__(self, out: bytearray) -> None:
        self.out = out
        self.pending = 0
        self.count = 0

    def number(self, value: int, count: int) -> None:
        """Least significant bit first, as plain numbers are packed."""
        self.pending |= value << self.count
        self.count += count
        while self.count >= 8:
            self.out.append(self.pending & 0xFF)
            self.pending >>= 8
            self.count -= 8

    def code(self, value: int, count: int) -> None:
        """Most significant bit first, as Huffman codes are packed."""
        turned = 0
        for _ in range(count):
            turned = turned << 1 | value & 1
            value >>= 1
        self.number(turned, count)

    def symbol(self, symbol: int) -> None:
        if symbol < 144:
            self.code(0x30 + symbol, 8)
        elif symbol < 256:
            self.code(0x190 + symbol - 144, 9)
        elif symbol < 280:
            self.code(symbol - 256, 7)
        else:
            self.code(0xC0 + symbol - 280, 8)

    def match(self, length: int, distance: int) -> None:
        if length == _LONGEST:
            self.symbol(285)
        else:
            code, base = _code_of(length, _SHORTEST, _LENGTH_BITS)
            self.symbol(257 + code)
            self.number(length - base, _LENGTH_BITS[code])
        code, base = _code_of(distance, 1, _DISTANCE_BITS)
        self.code(code, 5)
        self.number(distance - base, _DISTANCE_BITS[code])


def _code_of(value: int, base: int, bits: "tuple[int, ...]") -> "tuple[int, int]":
    code = 0
    while value >= base + (1 << bits[code]):
        base += 1 << bits[code]
        code += 1
    return code, base


def _adler32(raw: bytes) -> int:
    low = 1
    high = 0
    for value in raw:
        low = (low + value) % 65521
        high = (high + low) % 65521
    return high << 16 | low


def compress(raw: bytes) -> bytes:
    """`raw`, at most 65534 bytes, as a zlib stream. Besides the result it takes two bytes of memory a byte of `raw`."""
    out = bytearray(b"\x78\x01")
    bits = _Bits(out)
    bits.number(0b011, 3)  # the last block, fixed codes
    matches = _Matches(raw)
    at = 0
    while at < len(raw):
        length, distance = matches.longest(at)
        if length < _WORTH_CODING:
            length = 1
            bits.symbol(raw[at])
        else:
            bits.match(length, distance)
        for place in range(at, at + length):
            matches.remember(place)
        at += length
    bits.symbol(256)
    bits.number(0, -bits.count % 8)
    check = _adler32(raw)
    out.extend(bytes([check >> shift & 0xFF for shift in (24, 16, 8, 0)]))
    return bytes(out)


class _Matches:
    """Where three bytes like those at a place stood before: chains of places, one a bucket, newest first."""

    def __init__(self, raw: bytes) -> None:
        self.raw = raw
        self.newest = array("H", [0] * _BUCKETS)  # a place is kept as place + 1; 0 is the end of a chain
        self.before = array("H", bytes(2 * len(raw)))

    def bucket(self, at: int) -> int:
        raw = self.raw
        return (raw[at] * 31 + raw[at + 1] * 7 + raw[at + 2]) % _BUCKETS

    def remember(self, at: int) -> None:
        if at + _SHORTEST <= len(self.raw):
            bucket = self.bucket(at)
            self.before[at] = self.newest[bucket]
            self.newest[bucket] = at + 1

    def longest(self, at: int) -> "tuple[int, int]":
        """(length, distance) of the longest match among the newest places; (0, 0) when there is none."""
        raw = self.raw
        best = distance = 0
        most = min(_LONGEST, len(raw) - at)
        if most < _SHORTEST:
            return 0, 0
        place = self.newest[self.bucket(at)] - 1
        for _ in range(_CHAIN):
            if place < 0 or at - place > _FARTHEST:
                break
            length = 0
            while length < most and raw[place + length] == raw[at + length]:
                length += 1
            if length > best:
                best = length
                distance = at - place
            place = self.before[place] - 1
        return best, distance
