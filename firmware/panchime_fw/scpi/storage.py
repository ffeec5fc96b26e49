"""MMEMory: the roasts on the board's flash (SCPI-1999 volume 2, chapter 12)."""

from ..logbook import file_name
from . import errors
from .errors import ScpiError


def catalog_query(device, parameters):
    used, free = device.flash_bytes()
    rows = ["%d,%d" % (used, free)]
    for name, size in device.log.names():
        rows.append('"%s,BIN,%d"' % (name, size))
    return ",".join(rows)


def confirmed_query(device, parameters):
    return ",".join('"%s"' % name for name in device.room.confirmed())


def data_query(device, parameters):
    name, offset, length = _part(device, parameters)
    return device.stream_file(name, offset, length)


def checksum_query(device, parameters):
    name, offset, length = _part(device, parameters)
    device.sum_file(name, offset, length, lambda check: '%d,"%08X"' % (length, check))


def confirm(device, parameters):
    name, length, said = parameters
    size = _size(device, name)
    if device.log.writes(name):
        raise ScpiError(errors.PROGRAM_RUNNING, "'%s' is still being written: pull it again when the roast is over" % name)

    def done(check):
        _compare(device, name, length, said, check)
        if not device.room.confirm(name, length, check):
            raise ScpiError(errors.MASS_STORAGE, "the flash does not take the mark of %s" % name)

    device.sum_file(name, 0, size, done)


def delete(device, parameters):
    name = parameters[0]
    size = _size(device, name)
    if device.session.roast.running and name == file_name(device.session.log_number):
        raise ScpiError(errors.PROGRAM_RUNNING, "that roast is being recorded")
    if len(parameters) == 1:
        _remove(device, name)
        return
    if len(parameters) == 2:
        raise ScpiError(errors.MISSING_PARAMETER, "name, or name, bytes and CRC-32")
    _, length, said = parameters

    def done(check):
        _compare(device, name, length, said, check)
        _remove(device, name)

    device.sum_file(name, 0, size, done)


def room_query(device, parameters):
    room = device.room
    return "%d,%d,%d" % (room.minutes_left(), len(room.confirmed()), 1 if room.may_drop else 0)


def drop(device, parameters):
    device.change_settings({"drop_confirmed": parameters[0]})


def drop_query(device, parameters):
    return "1" if device.room.may_drop else "0"


def _part(device, parameters) -> tuple:
    """(name, offset, length) that lie in the log."""
    name = parameters[0]
    size = _size(device, name)
    offset = parameters[1] if len(parameters) > 1 else 0
    length = parameters[2] if len(parameters) > 2 else size - offset
    if not 0 <= offset <= size or length < 0:
        raise ScpiError(errors.OUT_OF_RANGE, "'%s' has %d bytes" % (name, size))
    return name, offset, min(length, size - offset)


def _compare(device, name, length, said, check) -> None:
    size = _size(device, name)
    if length != size or said.upper() != "%08X" % check:
        raise ScpiError(errors.DATA_CORRUPT, '%s has %d bytes and the CRC-32 "%08X": pull it again' % (name, size, check))


def _remove(device, name) -> None:
    if not device.room.remove(name):
        raise ScpiError(errors.MASS_STORAGE, name)


def _size(device, name) -> int:
    size = device.log.length(name)
    if size < 0:
        raise ScpiError(errors.FILE_NAME_NOT_FOUND, name)
    return size


TABLE = (
    ("MMEMory:CATalog?", catalog_query, "", "bytes used, bytes free, then name, type and size of each roast"),
    ("MMEMory:CATalog:CONFirmed?", confirmed_query, "", "the names of the roasts that the host has confirmed"),
    ("MMEMory:DATA?", data_query, "si?i?", "a roast's log as a block: name, from byte, how many"),
    ("MMEMory:CHECksum?", checksum_query, "si?i?", "bytes and CRC-32 of a log or of a part of it: name, from byte, how many"),
    ("MMEMory:CONFirm", confirm, "sis", "the host holds this roast whole: name, bytes and CRC-32 of the log"),
    ("MMEMory:DELete", delete, "si?s?", "remove a roast from the flash; with bytes and CRC-32 only when they fit"),
    ("MMEMory:ROOM?", room_query, "", "minutes of roast that still fit, roasts confirmed, 1 when those may be dropped"),
    ("MMEMory:ROOM:DROP", drop, "b", "the oldest confirmed roasts may be dropped when room is short"),
    ("MMEMory:ROOM:DROP?", drop_query, "", ""),
)
