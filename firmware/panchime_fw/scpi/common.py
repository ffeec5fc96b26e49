"""The thirteen common commands of IEEE 488.2 chapter 10."""

from . import errors
from .errors import ScpiError
from .status import MASTER_SUMMARY, OPERATION_COMPLETE


def clear(device, parameters):
    device.status.clear()


def event_enable(device, parameters):
    device.status.event_enable = _byte(parameters[0])


def event_enable_query(device, parameters):
    return str(device.status.event_enable)


def event_status_query(device, parameters):
    return str(device.status.read_event_status())


def identity_query(device, parameters):
    return device.identity()


def operation_complete(device, parameters):
    # Every command is finished before the next one is read, so nothing is ever pending.
    device.status.event_status |= OPERATION_COMPLETE


def operation_complete_query(device, parameters):
    return "1"


def reset(device, parameters):
    """Silences what the link made sound. It clears no trip, touches no relay, no plan, no log and no roast in progress."""
    device.silence()


def service_enable(device, parameters):
    device.status.service_enable = _byte(parameters[0]) & ~MASTER_SUMMARY


def service_enable_query(device, parameters):
    return str(device.status.service_enable)


def status_byte_query(device, parameters):
    return str(device.status.status_byte())


def self_test_query(device, parameters):
    result = device.self_test()
    if result:
        device.status.add_error(errors.SELF_TEST_FAILED, device.self_test_words(result))
    return str(result)


def wait(device, parameters):
    """Nothing to wait for: commands are carried out one after another."""


def _byte(value):
    if not 0 <= value <= 255:
        raise ScpiError(errors.OUT_OF_RANGE, "0 to 255")
    return value


TABLE = (
    ("*CLS", clear, "", "clear the error queue and all event registers"),
    ("*ESE", event_enable, "i", "which standard events are summarised in the status byte"),
    ("*ESE?", event_enable_query, "", ""),
    ("*ESR?", event_status_query, "", "read and clear the standard event status register"),
    ("*IDN?", identity_query, "", "maker, board, serial number, firmware"),
    ("*OPC", operation_complete, "", "set the operation-complete bit"),
    ("*OPC?", operation_complete_query, "", "answers 1"),
    ("*RST", reset, "", "silence a beep of the link; clears no trip, closes no relay, stops no roast"),
    ("*SRE", service_enable, "i", "which status bits raise the master summary"),
    ("*SRE?", service_enable_query, "", ""),
    ("*STB?", status_byte_query, "", "the status byte"),
    ("*TST?", self_test_query, "",
     "self-test: 0 passed; else 1 probe, 2 plan, 4 log, 8 tripped, 16 amplifier, 32 settings, added up"),
    ("*WAI", wait, "", "wait: every command is finished before the next one is read"),
)
