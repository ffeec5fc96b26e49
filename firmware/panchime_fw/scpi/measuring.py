"""MEASure, SENSe and OUTPut (SCPI-1999 volume 2, chapters 3, 15 and 18)."""

from .. import faults, trips
from ..amplifier.reading import COLD_UNKNOWN
from ..units import decimal
from . import errors
from .errors import ScpiError

NOT_A_NUMBER = "9.91E37"  # SCPI-1999 volume 1, 7.2.1.5


def temperature_query(device, parameters):
    sample = device.session.sample
    if sample.fault != faults.NONE:
        return NOT_A_NUMBER
    return decimal(sample.temperature_centi)


def cold_junction_query(device, parameters):
    sample = device.session.sample
    return NOT_A_NUMBER if sample.cold_centi == COLD_UNKNOWN else decimal(sample.cold_centi)


def thermocouple_query(device, parameters):
    return device.thermocouple_type


def amplifier_query(device, parameters):
    return device.amplifier_name


def fault_query(device, parameters):
    fault = device.session.sample.fault
    return '%d,"%s"' % (fault, faults.NAMES.get(fault, "unknown"))


def relay(device, parameters):
    if not parameters[0]:
        device.session.relay_off(device.now_ms())
    elif not device.session.relay_on(device.now_ms()):
        raise ScpiError(
            errors.SETTINGS_CONFLICT, "the relay closes only in preheat or roasting, with a plan that heats by it, untripped"
        )


def relay_query(device, parameters):
    return "1" if device.session.relay_closed else "0"


def tripped_query(device, parameters):
    return "1" if device.session.cutoff.reason != trips.NONE else "0"


def trip_reason_query(device, parameters):
    cutoff = device.session.cutoff
    reason = trips.RELAY_WELDED if cutoff.welded else cutoff.reason
    words = trips.trip_words(reason, cutoff.reading_centi, cutoff.trip_limit_centi)
    return '%d,"%s. %s"' % (reason, words, trips.ADVICE[reason])


def clear_trip(device, parameters):
    session = device.session
    if session.cutoff.reason != trips.NONE and not session.clear_trip(device.now_ms()):
        raise ScpiError(errors.SETTINGS_CONFLICT, "the cause is still there, or the temperature is not yet below the limit")


TABLE = (
    ("MEASure[:SCALar]:TEMPerature?", temperature_query, "", "corrected bean temperature in degC; 9.91E37 while faulty"),
    ("[SENSe:]TEMPerature:TRANsducer:TCouple:TYPE?", thermocouple_query, "", "the thermocouple's type letter"),
    ("[SENSe:]TEMPerature:TRANsducer:TCouple:RJUNction?", cold_junction_query, "", "the cold junction in degC"),
    ("[SENSe:]TEMPerature:TRANsducer:AMPLifier?", amplifier_query, "", "the amplifier chip"),
    ("[SENSe:]TEMPerature:TRANsducer:FAULt?", fault_query, "", "number and words of the probe's fault"),
    ("OUTPut[:STATe]", relay, "b", "open the relay, or close it again in a roast that heats by it"),
    ("OUTPut[:STATe]?", relay_query, "", ""),
    ("OUTPut:PROTection:TRIPped?", tripped_query, "", "1 when the cutoff has tripped"),
    ("OUTPut:PROTection:REASon?", trip_reason_query, "", "number and words of the trip"),
    ("OUTPut:PROTection:CLEar", clear_trip, "", "clear the trip when its cause is gone; the relay stays open"),
)
