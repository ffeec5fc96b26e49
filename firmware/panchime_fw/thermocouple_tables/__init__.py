"""The reference functions as whole nanovolts, one module a type: only the chosen type is in the memory of the board."""

from struct import unpack


def nodes(first: int, rise: int, bends: bytes) -> tuple:
    """The voltages on the even grid: the first, its rise to the second, then the second differences, two bytes each."""
    found = [first, first + rise]
    for bend in unpack("<%dh" % (len(bends) // 2), bends):
        rise += bend
        found.append(found[-1] + rise)
    return tuple(found)
