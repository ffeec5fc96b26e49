"""Unpacks a zlib stream, on CPython as on MicroPython."""

from io import BytesIO

try:
    _zlib = __import__("zlib")
    _deflate = None
    _refused = _zlib.error
except ImportError:
    _deflate = __import__("deflate")
    _refused = OSError


def unpack(packed: bytes, limit: int) -> bytes:
    """At most `limit` bytes of what `packed` holds. ValueError when it is no zlib stream."""
    try:
        if _deflate is None:
            return bytes(_zlib.decompressobj().decompress(packed, limit))
        return bytes(_deflate.DeflateIO(BytesIO(packed), _deflate.ZLIB).read(limit))
    except (_refused, EOFError) as error:
        raise ValueError("not a zlib stream: %s" % error)  # MicroPython cannot chain
