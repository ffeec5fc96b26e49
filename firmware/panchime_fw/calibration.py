"""The probe's correction: what it showed at one or two temperatures that are known, in whole numbers.

One point is an offset; two points are a straight line, which goes on beyond them, but nowhere corrects by more than a sound
probe can be off. `apply` works on the reading after linearisation and before everything else, and allocates nothing.

A document is {"points": [{"shown_centi", "true_centi", "how", "date"}, ...]}: what the uncorrected reading was, what was
true, how that was known, and the day ("2026-11-25"; "" where nobody knew it).
"""

from .units import decimal

# Tolerance of a probe: the wider one of IEC 60584-1 class 2 and ASTM E230 standard, as (hundredths of degC, hundredths of a
# per cent of the temperature), whichever is more. Type E is ASTM's alone; R and S are from memory.
TOLERANCES = {
    "K": (250, 75),
    "J": (250, 75),
    "N": (250, 75),
    "T": (100, 75),
    "E": (170, 50),
    "R": (150, 25),
    "S": (150, 25),
}
# Nearer points would make a slope of the noise.
POINTS_APART_CENTI = 5000
POINTS_LIMIT = 2
LOWEST_CENTI = -4000
HIGHEST_CENTI = 40000
HOW_LENGTH = 60
DATE_LENGTH = 10

LIKELY_CAUSES = (
    "likely: the tip is not deep enough, the water or ice is not stirred, the altitude or pressure is not that of the place, "
    "the thermocouple type in the settings is wrong, its wires are swapped, or the probe is worn out"
)


def tolerance_centi(thermocouple_type: str, true_centi: int) -> int:
    """How far a sound probe of this type may be off at a temperature, in hundredths of degC."""
    least, share = TOLERANCES[thermocouple_type]
    return max(least, abs(true_centi) * share // 10000)


class Calibration:
    """A checked document turned into whole numbers; None is no correction."""

    def __init__(self, document, thermocouple_type: str) -> None:
        self._least_centi, self._share = TOLERANCES[thermocouple_type]
        points = sorted(
            (point["shown_centi"], point["true_centi"] - point["shown_centi"])
            for point in (document["points"] if document else ())
        )
        self._from_centi = 0
        self._correction_centi = 0
        self._rise_centi = 0
        self._span_centi = 1
        if points:
            self._from_centi, self._correction_centi = points[0]
        if len(points) == 2:
            self._rise_centi = points[1][1] - points[0][1]
            self._span_centi = points[1][0] - points[0][0]

    def correction_centi(self, shown_centi: int) -> int:
        """What to add to an uncorrected reading.

        A checked document keeps the product small: at most 220000 hundredths from the first point times 600, 1.4e8.
        """
        rise_centi = (shown_centi - self._from_centi) * self._rise_centi
        correction_centi = self._correction_centi + (rise_centi + (self._span_centi >> 1)) // self._span_centi
        # As tolerance_centi, without its tuple.
        most_centi = abs(shown_centi) * self._share // 10000
        if most_centi < self._least_centi:
            most_centi = self._least_centi
        if correction_centi > most_centi:
            return most_centi
        return -most_centi if correction_centi < -most_centi else correction_centi

    def apply(self, shown_centi: int) -> int:
        """The corrected reading."""
        return shown_centi + self.correction_centi(shown_centi)


def check(document, thermocouple_type: str) -> list:
    """Every mistake as a sentence; an empty list when there is none. None, no calibration, is right."""
    if document is None:
        return []
    if not isinstance(document, dict) or not isinstance(document.get("points"), (list, tuple)):
        return ["calibration must be null or a table with points"]
    points = document["points"]
    if not 1 <= len(points) <= POINTS_LIMIT:
        return ["calibration: there must be 1 or 2 points, and there are %d" % len(points)]
    faults: list = []
    for key in sorted(document):
        if key != "points":
            faults.append("calibration: '%s' is not a key; known is: points" % key)
    for number, point in enumerate(points):
        _check_point(point, "calibration point %d: " % (number + 1), faults)
    if not faults:
        _check_tolerance(document, thermocouple_type, faults)
    return faults


def _check_point(point, place: str, faults: list) -> None:
    if not isinstance(point, dict) or sorted(point) != ["date", "how", "shown_centi", "true_centi"]:
        faults.append(place + "must have shown_centi, true_centi, how and date, and nothing else")
        return
    for key in ("shown_centi", "true_centi"):
        value = point[key]
        if not isinstance(value, int) or isinstance(value, bool) or not LOWEST_CENTI <= value <= HIGHEST_CENTI:
            faults.append(
                "%s%s must be a whole number of hundredths, %s to %s C"
                % (place, key, decimal(LOWEST_CENTI), decimal(HIGHEST_CENTI))
            )
    for key, longest in (("how", HOW_LENGTH), ("date", DATE_LENGTH)):
        value = point[key]
        if not isinstance(value, str) or len(value) > longest or not all(32 <= ord(letter) < 127 for letter in value):
            faults.append("%s%s must be at most %d plain letters" % (place, key, longest))


def _check_tolerance(document, thermocouple_type: str, faults: list) -> None:
    points = document["points"]
    for point in points:
        off_centi = point["shown_centi"] - point["true_centi"]
        allowed_centi = tolerance_centi(thermocouple_type, point["true_centi"])
        if abs(off_centi) > allowed_centi:
            faults.append(
                "the probe shows %s C at %s C, %s off; a sound type %s probe is within %s (IEC 60584 class 2, ASTM E230); %s"
                % (
                    decimal(point["shown_centi"]), decimal(point["true_centi"]), decimal(abs(off_centi)),
                    thermocouple_type, decimal(allowed_centi), LIKELY_CAUSES,
                )
            )  # fmt: skip
    if faults or len(points) < 2:
        return
    if abs(points[0]["shown_centi"] - points[1]["shown_centi"]) < POINTS_APART_CENTI:
        faults.append("the two calibration points must lie at least %s C apart" % decimal(POINTS_APART_CENTI))
