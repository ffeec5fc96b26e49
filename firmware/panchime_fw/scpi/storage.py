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


def data_query(device, parameters):
    name = parameters[0]
    size = _size(device, name)
    offset = parameters[1] if len(parameters) > 1 else 0
    length = parameters[2] if len(parameters) > 2 else size - offset
    if not 0 <= offset <= size or length < 0:
        raise ScpiError(errors.OUT_OF_RANGE, "'%s' has %d bytes" % (name, size))
    return device.stream_file(name, offset, min(length, size - offset))


def delete(device, parameters):
    name = parameters[0]
    _size(device, name)
    if device.session.roast.running and name == file_name(device.session.log_number):
        raise ScpiError(errors.PROGRAM_RUNNING, "that roast is being recorded")
    if not device.log.remove(name):
        raise ScpiError(errors.MASS_STORAGE, name)


def _size(device, name) -> int:
    for known, size in device.log.names():
        if known == name:
            return size
    raise ScpiError(errors.FILE_NAME_NOT_FOUND, name)


TABLE = (
    ("MMEMory:CATalog?", catalog_query, "", "bytes used, bytes free, then name, type and size of each roast"),
    ("MMEMory:DATA?", data_query, "si?i?", "a roast's log as a block: name, from byte, how many"),
    ("MMEMory:DELete", delete, "s", "remove a roast from the flash"),
)
