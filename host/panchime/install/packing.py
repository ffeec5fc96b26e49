"""Many modules in one file: what a flash with whole blocks of 4096 bytes keeps best. firmware/packed.py reads it."""

import zlib
from collections.abc import Iterable

# The board inflates with a window of this size, which it has to have free at every import.
WINDOW_BITS = 10


def pack(modules: Iterable[tuple[str, bytes]]) -> bytes:
    """One file of the modules, (path, content) each: the length of the index, the index, and a raw deflate stream a module."""
    index = []
    streams = []
    begin = 0
    for path, content in modules:
        stream = deflated(content)
        index.append(f"{path} {begin}\n")
        streams.append(stream)
        begin += len(stream)
    text = "".join(index).encode()
    return b"%d\n" % len(text) + text + b"".join(streams)


def deflated(content: bytes) -> bytes:
    packer = zlib.compressobj(9, zlib.DEFLATED, -WINDOW_BITS, 9)
    return packer.compress(content) + packer.flush()
