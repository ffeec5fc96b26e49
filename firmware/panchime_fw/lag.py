"""What the probe touches, from what it shows: a probe follows with a lag, T_touched = T + lag dT/dt (first order).

The slope is that of a least-squares line through the last seconds of the filtered signal. Its window grows with the lag, from
4 to 20 s, because the slope's noise is multiplied by the lag: with s the standard deviation of one filtered sample, a window
of W seconds at four samples a second gives lag * s * sqrt(12 / (4 W)^3) * 4, at most 1.2 s for the longest lag.
"""

from .signal import RateOfRise

SHORTEST_SLOPE_MS = 4000
LONGEST_SLOPE_MS = 20000
LONGEST_LAG_MS = 60000
# No pan or popper heats beans faster than 2 degC a second (common practice, no source). Beyond that the probe is being laid in
# or taken out, and the straight line is no measure of what it touches.
RATE_BOUND_CENTI_PER_MIN = 12000


class LagCompensator:
    """`compensated_centi`: the last sample, ahead of the probe by its lag. A lag of 0 passes samples on as they are.

    Raises ValueError for a lag outside 0 to 60 s.
    """

    def __init__(self, lag_ms: int = 0) -> None:
        if not 0 <= lag_ms <= LONGEST_LAG_MS:
            raise ValueError("probe lag %d ms: must be 0 to %d ms" % (lag_ms, LONGEST_LAG_MS))
        self.lag_ms = lag_ms
        self._lag_tenths_s = lag_ms // 100
        self.slope_ms = min(max(lag_ms, SHORTEST_SLOPE_MS), LONGEST_SLOPE_MS)
        self._slope = RateOfRise(self.slope_ms, SHORTEST_SLOPE_MS)
        self.compensated_centi: int = 0

    def reset(self) -> None:
        """Forgets every sample."""
        self._slope.reset()

    def add(self, t_ms: int, filtered_centi: int) -> int:
        """Takes a filtered sample and answers what is touched; the sample itself until the slope is known.

        Largest intermediate: 600 tenths of a second times 12000, 7.2e6.
        """
        self.compensated_centi = filtered_centi
        if self._lag_tenths_s == 0:
            return filtered_centi
        slope = self._slope
        slope.add(t_ms, filtered_centi)
        if slope.ready:
            rate = slope.centi_per_min
            if rate > RATE_BOUND_CENTI_PER_MIN:
                rate = RATE_BOUND_CENTI_PER_MIN
            elif rate < -RATE_BOUND_CENTI_PER_MIN:
                rate = -RATE_BOUND_CENTI_PER_MIN
            self.compensated_centi = filtered_centi + (self._lag_tenths_s * rate + 300) // 600
        return self.compensated_centi
