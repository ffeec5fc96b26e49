"""MEASure, SENSe and OUTPut (SCPI-1999 volume 2, chapters 3, 15 and 18)."""

from .. import faults, trips
from ..amplifier.reading import COLD_UNKNOWN
from ..units import CELSIUS, decimal, to_centi
from . import errors
from .errors import ScpiError

NOT_A_NUMBER = "9.91E37"  # SCPI-1999 volume 1, 7.2.1.5


def temperature_query(device, parameters):
    return decimal(device.session.measured_centi) if _is_read(device.session) else NOT_A_NUMBER


def compensated_query(device, parameters):
    session = device.session
    return decimal(session.lag.compensated_centi) if _is_read(session) else NOT_A_NUMBER


def uncalibrated_query(device, parameters):
    return decimal(device.chain.uncalibrated_centi) if _is_read(device.session) else NOT_A_NUMBER


def _is_read(session) -> bool:
    return session.sampled and session.sample.fault == faults.NONE


def transducer(device, parameters):
    if parameters[0] not in ("TC", "TCOUPLE"):
        raise ScpiError(errors.ILLEGAL_VALUE, "this board measures with a thermocouple: TCouple")


def transducer_query(device, parameters):
    return "TC"


def thermocouple(device, parameters):
    device.change_settings({"thermocouple": parameters[0]})


def amplifier(device, parameters):
    device.change_settings({"amplifier": parameters[0]})


def lag(device, parameters):
    device.change_settings({"probe_lag_s": parameters[0]})


def lag_query(device, parameters):
    return "%d,%d" % (device.chain.settings.probe_lag_ms, device.session.lag.lag_ms)


def rate_window(device, parameters):
    device.change_settings({"rate_window_s": parameters[0]})


def rate_window_query(device, parameters):
    return str(device.chain.settings.document["rate_window_s"])


def calibration(device, parameters):
    if len(parameters) not in (4, 8):
        raise ScpiError(errors.MISSING_PARAMETER, "shown, true, how and date for each of one or two points")
    points = []
    for at in range(0, len(parameters), 4):
        shown_c, true_c, how, date = parameters[at : at + 4]
        points.append(
            {"shown_centi": to_centi(shown_c, CELSIUS), "true_centi": to_centi(true_c, CELSIUS), "how": how, "date": date}
        )
    device.change_settings({"calibration": {"points": points}})


def calibration_query(device, parameters):
    document = device.chain.settings.document["calibration"]
    rows = []
    for point in document["points"] if document else ():
        rows.append(
            '%s,%s,"%s","%s"' % (
                decimal(point["shown_centi"]), decimal(point["true_centi"]),
                point["how"].replace('"', '""'), point["date"].replace('"', '""'),
            )
        )  # fmt: skip
    return ",".join(rows)


def calibration_clear(device, parameters):
    device.change_settings({"calibration": None})


def cold_junction_query(device, parameters):
    sample = device.session.sample
    return NOT_A_NUMBER if sample.cold_centi == COLD_UNKNOWN else decimal(sample.cold_centi)


def thermocouple_query(device, parameters):
    return device.chain.settings.thermocouple


def amplifier_query(device, parameters):
    return device.chain.settings.amplifier


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
    also = " " + trips.TIP_OUT_ADVICE if reason != trips.NONE and device.session.beans_to_tip_out else ""
    return '%d,"%s. %s%s"' % (reason, words, trips.ADVICE[reason], also)


def clear_trip(device, parameters):
    session = device.session
    if session.cutoff.reason != trips.NONE and not session.clear_trip(device.now_ms()):
        raise ScpiError(errors.SETTINGS_CONFLICT, "the cause is still there, or the temperature is not yet below the limit")


TABLE = (
    ("MEASure[:SCALar]:TEMPerature?", temperature_query, "", "corrected bean temperature in degC; 9.91E37 while faulty"),
    ("MEASure[:SCALar]:TEMPerature:COMPensated?", compensated_query, "", "as above, ahead of the probe by its lag"),
    ("MEASure[:SCALar]:TEMPerature:UNCalibrated?", uncalibrated_query, "", "as above, without calibration and lag"),
    ("[SENSe:]TEMPerature:TRANsducer[:TYPE]", transducer, "w", "TCouple is all there is"),
    ("[SENSe:]TEMPerature:TRANsducer[:TYPE]?", transducer_query, "", ""),
    ("[SENSe:]TEMPerature:TRANsducer:TCouple:TYPE", thermocouple, "w",
     "K, J, N, T, E, R or S; at once, not in a roast, and drops the calibration"),
    ("[SENSe:]TEMPerature:TRANsducer:TCouple:TYPE?", thermocouple_query, "", "the thermocouple's type letter"),
    ("[SENSe:]TEMPerature:TRANsducer:TCouple:RJUNction?", cold_junction_query, "", "the cold junction in degC"),
    ("[SENSe:]TEMPerature:TRANsducer:AMPLifier", amplifier, "w",
     "MAX31855, MAX31856, MAX6675, MCP9600 or MCP9601; at once, not in a roast, and drops the calibration"),
    ("[SENSe:]TEMPerature:TRANsducer:AMPLifier?", amplifier_query, "", "the amplifier chip"),
    ("[SENSe:]TEMPerature:TRANsducer:FAULt?", fault_query, "", "number and words of the probe's fault"),
    ("[SENSe:]TEMPerature:TRANsducer:CALibration", calibration, "nnssn?n?s?s?",
     "one or two points: shown uncalibrated and true in degC, how it was known, date"),
    ("[SENSe:]TEMPerature:TRANsducer:CALibration?", calibration_query, "", "the points; an empty line when there are none"),
    ("[SENSe:]TEMPerature:TRANsducer:CALibration:CLEar", calibration_clear, "", "measure without a calibration"),
    ("[SENSe:]TEMPerature:TRANsducer:LAG", lag, "n", "the probe's lag in the beans in seconds, 0 to 60; 0 is none"),
    ("[SENSe:]TEMPerature:TRANsducer:LAG?", lag_query, "", "milliseconds: of the settings, and in force with this plan"),
    ("[SENSe:]TEMPerature:RATE:WINDow", rate_window, "i", "seconds the rate of rise is taken over, 20 to 60"),
    ("[SENSe:]TEMPerature:RATE:WINDow?", rate_window_query, "", ""),
    ("OUTPut[:STATe]", relay, "b", "open the relay, or close it again in a roast that heats by it"),
    ("OUTPut[:STATe]?", relay_query, "", ""),
    ("OUTPut:PROTection:TRIPped?", tripped_query, "", "1 when the cutoff has tripped"),
    ("OUTPut:PROTection:REASon?", trip_reason_query, "", "number and words of the trip"),
    ("OUTPut:PROTection:CLEar", clear_trip, "", "clear the trip when its cause is gone; the relay stays open"),
)
