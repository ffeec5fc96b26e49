"""SYSTem and STATus (SCPI-1999 volume 2, chapters 20 and 21)."""

from . import errors
from .errors import ScpiError

SCPI_VERSION = "1999.0"
BEEP_HZ = 2000
BEEP_S = 0.3
BEEP_LONGEST_S = 5


def error_query(device, parameters):
    return device.status.next_error()


def error_count_query(device, parameters):
    return str(device.status.error_count())


def version_query(device, parameters):
    return SCPI_VERSION


def headers_query(device, parameters):
    text = "".join(pattern + "\n" for pattern, _, _, _ in device.table)
    return device.block(text.encode())


def help_query(device, parameters):
    lines = ["%-52s %s\n" % (pattern, words) for pattern, _, _, words in device.table if words]
    lines.append("A mistake makes no answer of its own: ask SYSTem:ERRor? for it.\n")
    return device.block("".join(lines).encode())


def date(device, parameters):
    year, month, day = parameters
    if not (2024 <= year <= 2099 and 1 <= month <= 12 and 1 <= day <= 31):
        raise ScpiError(errors.OUT_OF_RANGE, "year 2024 to 2099, month, day")
    device.set_date(year, month, day)


def date_query(device, parameters):
    return "%d,%d,%d" % device.date_time()[:3]


def time(device, parameters):
    hour, minute, second = parameters
    if not (0 <= hour <= 23 and 0 <= minute <= 59 and 0 <= second < 60):
        raise ScpiError(errors.OUT_OF_RANGE, "hours, minutes, seconds, in UTC")
    device.set_time(hour, minute, int(second))


def time_query(device, parameters):
    return "%d,%d,%d" % device.date_time()[3:6]


def uptime_query(device, parameters):
    return "%d,%d,%d" % (device.boot, device.uptime_ms(), 1 if device.clock_set else 0)


def beeper(device, parameters):
    hz = parameters[0] if parameters else BEEP_HZ
    seconds = parameters[1] if len(parameters) > 1 else BEEP_S
    if not 100 <= hz <= 8000:
        raise ScpiError(errors.OUT_OF_RANGE, "100 to 8000 Hz")
    if not 0 < seconds <= BEEP_LONGEST_S:
        raise ScpiError(errors.OUT_OF_RANGE, "up to %d seconds" % BEEP_LONGEST_S)
    device.beep(int(hz), int(seconds * 1000))


def maintenance(device, parameters):
    if device.session.roast.running:
        raise ScpiError(errors.PROGRAM_RUNNING, "stop the roast first")
    device.enter_maintenance()


def _register(name):
    """The eight commands of one SCPI status register."""

    def of(device):
        return getattr(device.status, name)

    def event_query(device, parameters):
        return str(of(device).read_event())

    def condition_query(device, parameters):
        return str(of(device).condition)

    def enable(device, parameters):
        if not 0 <= parameters[0] <= 65535:
            raise ScpiError(errors.OUT_OF_RANGE, "0 to 65535")
        of(device).enable = parameters[0] & 0x7FFF  # bit 15 is never used (SCPI-1999 volume 1, 9.2)

    def enable_query(device, parameters):
        return str(of(device).enable)

    return event_query, condition_query, enable, enable_query


def preset(device, parameters):
    device.status.preset()


_operation = _register("operation")
_questionable = _register("questionable")

TABLE = (
    ("SYSTem:ERRor[:NEXT]?", error_query, "", "the oldest error, taken out of the queue"),
    ("SYSTem:ERRor:COUNt?", error_count_query, "", "how many errors wait"),
    ("SYSTem:VERSion?", version_query, "", "the SCPI version that is followed"),
    ("SYSTem:HELP:HEADers?", headers_query, "", "every header, as a block"),
    ("HELP?", help_query, "", "this list, as a block"),
    ("SYSTem:DATE", date, "iii", "set the clock: year,month,day in UTC"),
    ("SYSTem:DATE?", date_query, "", ""),
    ("SYSTem:TIME", time, "iin", "set the clock: hours,minutes,seconds in UTC"),
    ("SYSTem:TIME?", time_query, "", ""),
    ("SYSTem:UPTime?", uptime_query, "", "boot number, milliseconds since, 1 when the clock was set"),
    ("SYSTem:BEEPer[:IMMediate]", beeper, "n?n?", "beep: hertz, seconds"),
    ("SYSTem:MAINtenance", maintenance, "", "restart once into the prompt, relay open and no watchdog, for installing"),
    ("STATus:OPERation[:EVENt]?", _operation[0], "", "bit 4: a roast is measured; bit 14: a plan runs"),
    ("STATus:OPERation:CONDition?", _operation[1], "", ""),
    ("STATus:OPERation:ENABle", _operation[2], "i", ""),
    ("STATus:OPERation:ENABle?", _operation[3], "", ""),
    ("STATus:QUEStionable[:EVENt]?", _questionable[0], "", "bit 4: the temperature is in doubt or a trip is latched"),
    ("STATus:QUEStionable:CONDition?", _questionable[1], "", ""),
    ("STATus:QUEStionable:ENABle", _questionable[2], "i", ""),
    ("STATus:QUEStionable:ENABle?", _questionable[3], "", ""),
    ("STATus:PRESet", preset, "", "report nothing of the two registers above"),
)
