"""Thermocouple voltage and temperature by ITS-90, both directions, in whole numbers.

A table (thermocouple_tables/, built from the NIST reference functions) holds the voltage every 10 degC in nanovolts,
the reference junction at 0 degC. Between two entries y0 and y1 at the fraction u of the interval, Bessel's formula
(Abramowitz and Stegun 25.2.6, up to second differences) gives

    y(u) = y0 + u (y1 - y0) - u (1 - u) (D0 + D1) / 4

with D0 and D1 the second differences centred on y0 and y1. That is why a table carries one entry more at either end.

Every intermediate value stays below 2**30 in magnitude. The largest, over all types (type E, 81 uV/degC at most):
a first difference of 8.1e5 nV times a fraction of at most 1000 thousandths = 8.1e8. Nothing is allocated.
"""

TYPES = "KJNTERS"

_STEP_CENTI = 1000
# u (1 - u), at most 250000 millionths, is cut to steps of 64 millionths so that its product with the sum of the second
# differences (at most 5.2e4 nV, type J) stays at 2.1e8.
_CUT = 64
_DIVISOR = 4 * 1000 * 1000 // _CUT


class Thermocouple:
    """One type's curve. Raises ValueError for a type without a table (types: K J N T E R S).

    lowest_centi, highest_centi: the range of the table.
    """

    def __init__(self, letter: str) -> None:
        if len(letter) != 1 or letter not in TYPES:
            raise ValueError("thermocouple type %r: no table; types are %s" % (letter, ", ".join(TYPES)))
        module = __import__("panchime_fw.thermocouple_tables.type_" + letter.lower(), None, None, ("NANOVOLTS",))
        self.letter = letter
        self.lowest_centi: int = module.LOWEST_CENTI
        self.highest_centi: int = module.HIGHEST_CENTI
        self._nodes: tuple[int, ...] = module.NANOVOLTS
        self._intervals = len(self._nodes) - 3
        self._found = 0
        self._highest_nanovolts = self.nanovolts(self.highest_centi)

    def nanovolts(self, t_centi: int) -> int:
        """Voltage of a junction at t_centi against a reference junction at 0 degC; beyond the table the end value."""
        if t_centi < self.lowest_centi:
            t_centi = self.lowest_centi
        elif t_centi > self.highest_centi:
            t_centi = self.highest_centi
        t_centi -= self.lowest_centi
        index = t_centi // _STEP_CENTI
        if index >= self._intervals:
            index = self._intervals - 1
        fraction = t_centi - index * _STEP_CENTI
        nodes = self._nodes
        y0 = nodes[index + 1]
        return y0 + ((nodes[index + 2] - y0) * fraction + 500) // 1000 - self._bend(index, fraction)

    def centi(self, nanovolts: int) -> int:
        """Temperature of a junction with this voltage against a reference junction at 0 degC.

        A voltage below the table gives one hundredth less than lowest_centi, one above it one hundredth more than
        highest_centi, so that a range check on the result finds both.
        """
        if nanovolts < self._nodes[1]:
            return self.lowest_centi - 1
        if nanovolts > self._highest_nanovolts:
            return self.highest_centi + 1
        index = self._interval(nanovolts)
        return self.lowest_centi + index * _STEP_CENTI + self._fraction(index, nanovolts - self._nodes[index + 1])

    def _interval(self, nanovolts: int) -> int:
        """The last interval that begins at or below a voltage. Looked for from the last one: a probe seldom leaves it."""
        nodes = self._nodes
        index = self._found
        while index > 0 and nodes[index + 1] > nanovolts:
            index -= 1
        while index < self._intervals - 1 and nodes[index + 2] <= nanovolts:
            index += 1
        self._found = index
        return index

    def _fraction(self, index: int, above: int) -> int:
        """How far into an interval, in thousandths, the voltage is so many nanovolts above its beginning."""
        rise = self._nodes[index + 2] - self._nodes[index + 1]
        fraction = (above * 1000 + (rise >> 1)) // rise
        # The bend is at most 1/64 of the rise (type N at -200 degC): each round makes the error at least ten times
        # smaller.
        before = -1
        rounds = 3
        while rounds and fraction != before:
            before = fraction
            fraction = ((self._bend(index, fraction) + above) * 1000 + (rise >> 1)) // rise
            rounds -= 1
        return fraction

    def _bend(self, index: int, fraction: int) -> int:
        """How far the curve hangs below the chord of an interval, in nanovolts; fraction in thousandths."""
        nodes = self._nodes
        # D0 + D1 = (y[-1] - 2 y0 + y1) + (y0 - 2 y1 + y2)
        bend = nodes[index] - nodes[index + 1] - nodes[index + 2] + nodes[index + 3]
        return (fraction * (1000 - fraction) // _CUT * bend + _DIVISOR // 2) // _DIVISOR
