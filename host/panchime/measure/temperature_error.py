"""The worst error of a temperature on its way from frame to reading, against the NIST tables.

The reference is the package thermocouple-its90 (only here and in the tests). Errors are in degC, found minus true.

    python -m panchime.measure.temperature_error
"""

from dataclasses import dataclass

from panchime_fw import faults
from panchime_fw.amplifier import decoder_for
from panchime_fw.amplifier.max6675 import SENSITIVITY_NV_PER_C as MAX6675_NV_PER_C
from panchime_fw.amplifier.max31855 import SENSITIVITY_NV_PER_C
from panchime_fw.amplifier.reading import Reading
from panchime_fw.thermocouple import TYPES, Thermocouple

TENTH_C = 0.1
ROAST_RANGE_C = (0, 400)


@dataclass(frozen=True)
class CurveError:
    """The integer curve alone: worst error of either direction over a range."""

    thermocouple_type: str
    low_c: float
    high_c: float
    to_voltage_c: float
    to_temperature_c: float


@dataclass(frozen=True)
class FrameError:
    """A chip's rounded frame decoded: worst error over a range of temperatures and cold junctions."""

    chip: str
    thermocouple_type: str
    low_c: float
    high_c: float
    cold_low_c: float
    cold_high_c: float
    uncorrected_c: float
    corrected_c: float


def curve_error(thermocouple_type: str, low_c: int, high_c: int) -> CurveError:
    """Every tenth of a degree of the range, both directions. A voltage error counts as the temperature it means."""
    import thermocouple_its90

    curve, reference = Thermocouple(thermocouple_type), thermocouple_its90.get(thermocouple_type)
    forward = backward = 0.0
    for tenth in range(low_c * 10, high_c * 10 + 1):
        t_c = tenth * TENTH_C
        nanovolts = reference.emf(t_c) * 1e6
        forward = max(forward, abs(curve.nanovolts(tenth * 10) - nanovolts) / (reference.seebeck(t_c) * 1e6))
        backward = max(backward, abs(curve.centi(round(nanovolts)) / 100 - t_c))
    return CurveError(thermocouple_type, low_c, high_c, forward, backward)


def curve_errors() -> list[CurveError]:
    """Each type over the roasting range and over all of its table."""
    errors = []
    for letter in TYPES:
        curve = Thermocouple(letter)
        errors.append(curve_error(letter, *ROAST_RANGE_C))
        errors.append(curve_error(letter, curve.lowest_centi // 100, curve.highest_centi // 100))
    return errors


def max31855_error(
    thermocouple_type: str, low_c: int = 100, high_c: int = 300, cold_low_c: int = -10, cold_high_c: int = 60
) -> FrameError:
    """Each half degree of the range, each degree of cold junction. Includes the chip's rounding to 0.25 degC."""
    import thermocouple_its90

    reference = thermocouple_its90.get(thermocouple_type)
    decoder, reading = decoder_for("MAX31855", thermocouple_type), Reading()
    sensitivity_mv = SENSITIVITY_NV_PER_C[thermocouple_type] * 1e-6
    uncorrected = corrected = 0.0
    for cold_c in range(cold_low_c, cold_high_c + 1):
        cold_mv = reference.emf(cold_c)
        for half in range(low_c * 2, high_c * 2 + 1):
            true_c = half / 2
            quarters = round((cold_c + (reference.emf(true_c) - cold_mv) / sensitivity_mv) * 4)
            word = (quarters & 0x3FFF) << 18 | (cold_c * 16 & 0xFFF) << 4
            decoder.decode(word.to_bytes(4, "big"), reading)
            assert reading.fault == faults.NONE, f"{true_c} degC with the cold junction at {cold_c} is judged a fault"
            uncorrected = max(uncorrected, abs(quarters / 4 - true_c))
            corrected = max(corrected, abs(reading.temperature_centi / 100 - true_c))
    return FrameError("MAX31855", thermocouple_type, low_c, high_c, cold_low_c, cold_high_c, uncorrected, corrected)


def max6675_error(cold_low_c: int, cold_high_c: int, low_c: int = 100, high_c: int = 300) -> FrameError:
    """As max31855_error for the MAX6675, whose decoder does not know the cold junction."""
    import thermocouple_its90

    reference = thermocouple_its90.get("K")
    decoder, reading = decoder_for("MAX6675", "K"), Reading()
    uncorrected = corrected = 0.0
    for cold_c in range(cold_low_c, cold_high_c + 1):
        for half in range(low_c * 2, high_c * 2 + 1):
            true_c = half / 2
            quarters = round((cold_c + (reference.emf(true_c) - reference.emf(cold_c)) / (MAX6675_NV_PER_C * 1e-6)) * 4)
            decoder.decode((quarters << 3).to_bytes(2, "big"), reading)
            uncorrected = max(uncorrected, abs(quarters / 4 - true_c))
            corrected = max(corrected, abs(reading.temperature_centi / 100 - true_c))
    return FrameError("MAX6675", "K", low_c, high_c, cold_low_c, cold_high_c, uncorrected, corrected)


def frame_errors() -> list[FrameError]:
    """Every variant of the MAX31855 over the roasting temperatures, and the MAX6675 for three kinds of place."""
    errors = [max31855_error(letter) for letter in TYPES]
    return [*errors, max6675_error(20, 60), max6675_error(10, 60), max6675_error(-10, 60)]


def worst_errors() -> dict[str, float]:
    """One number a line, in degC, by name: the table for a bench."""
    figures = {}
    for curve in curve_errors():
        where = f"curve {curve.thermocouple_type} {curve.low_c}..{curve.high_c} degC"
        figures[f"{where}, to voltage"] = curve.to_voltage_c
        figures[f"{where}, to temperature"] = curve.to_temperature_c
    for frame in frame_errors():
        where = (
            f"{frame.chip} {frame.thermocouple_type} {frame.low_c}..{frame.high_c} degC, "
            f"cold junction {frame.cold_low_c}..{frame.cold_high_c}"
        )
        figures[f"{where}, as the chip tells it"] = frame.uncorrected_c
        figures[f"{where}, corrected"] = frame.corrected_c
    return figures


if __name__ == "__main__":
    for name, error_c in worst_errors().items():
        print(f"{error_c:7.3f}  {name}")
