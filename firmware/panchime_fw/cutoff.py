"""The one place that decides whether the heater may stay on, and the one latch.

`decide(sample, now_ms)` is called once for every sample and answers a reason of `trips.py`, or `trips.NONE`. The first reason
is kept until `clear` succeeds. It allocates nothing, and every number in it is a small integer.

This is a convenience limiter. It is never the sole protection: the appliance keeps its own thermostat and thermal fuse.
"""

from . import faults, stages, trips
from .ticks import ticks_diff

# A sample at or over the limit may be one spike from the relay or the piezo; two in a row, 0.25 s apart, are not.
OVER_LIMIT_SAMPLES = 2
# A loose plug makes and breaks for some tenths of a second; what lasts longer is a fault that hides the temperature.
FAULT_MS = 1000
# One that comes and goes hides the temperature as well: this much of it, the good time in between counted half against it.
FLICKER_MS = 10000
FLICKER_STEP_MS = 500  # no single gap between samples counts for more
# A bare thin bead laid into hot beans rises by some 10 degC a second; 25 within a second, after the single spikes have been
# filtered out, is a wire that moves, not a bean.
JUMP_CENTI = 2500
JUMP_WINDOW_SAMPLES = 4
# Four separate spikes within three seconds are a loose contact even when the filter hides each of them. A spike is two jumps.
WILD_JUMPS = 8
WILD_WINDOW_SAMPLES = 12
# An amplifier flickers by at least its last bit within seconds when it is alive and hot (0.25 degC, 0.0625 degC cold junction).
FROZEN_MS = 30000
FROZEN_ABOVE_CENTI = 6000
# The amplifiers are accurate to 70 or 85 degC of their own temperature (MAX31855 datasheet 19-5793: +-2 degC, -20 to +85),
# and a board that warm lies by the flame.
COLD_JUNCTION_CENTI = 7000
COLD_JUNCTION_MS = 2000
# Poppers warm by 10 to 30 degC a minute below 180 degC (common practice, no source): 3 degC in 150 s is a dead heater or a
# probe that hangs beside the beans. Above 180 degC a person may hold the temperature on purpose.
NOT_WARMING_MS = 150000
NOT_WARMING_CENTI = 300
NOT_WARMING_BELOW_CENTI = 18000
# Once the beans warm up they do not cool while they are heated.
PROBE_IN_AIR_CENTI = 2500
PROBE_IN_AIR_MS = 60000
PROBE_IN_AIR_AFTER_RISE_CENTI = 1500
# A flash erase may hold the loop for 400 ms; twice that and two samples more means that nobody kept watch.
LATE_MS = 1300
# The probe and the heating coil go on rising for some seconds after the cut (lag of a sheathed probe: up to 5 s).
WELDED_AFTER_MS = 30000
WELDED_RISE_CENTI = 1000
# To clear a trip, the temperature must be this far below the limit.
CLEAR_MARGIN_CENTI = 1000
# What plan.py lets through at most. Told again here: a bound that has been damaged on its way must not be believed.
HIGHEST_LIMIT_CENTI = 27500
HIGHEST_LONGEST_MS = 60 * 60000
NOTHING_SEEN = -32768


class Sample:
    """One sample as the cutoff sees it; one object, filled anew each time."""

    def __init__(self) -> None:
        self.fault = faults.NONE
        self.temperature_centi = 0  # the higher of measured and lag-compensated
        self.filtered_centi = 0
        self.cold_centi = NOTHING_SEEN
        self.stage = stages.IDLE
        self.stage_ms = 0  # since the stage began
        self.heating_ms = 0  # since the relay closed, 0 when it is open
        self.relay_closed = False
        self.heater_plan = False  # the plan's heater hangs on the relay, closed or not


class Cutoff:
    def __init__(self) -> None:
        self.reason = trips.NONE
        self.at_ms = 0
        self.reading_centi = 0
        self.trip_limit_centi = 0  # the limit when it tripped: a new plan does not clear an old trip
        self.limit_centi = 0  # 0: no plan has given one
        self.longest_ms = 0
        self.longest_heating_ms = 0  # 0: the appliance has no such bound
        self.fault = faults.NONE
        self.welded = False
        self._jump_ring = [NOTHING_SEEN] * JUMP_WINDOW_SAMPLES
        self._jump_at = 0
        self._wild_ring = bytearray(WILD_WINDOW_SAMPLES)
        self._wild_at = 0
        self.forget()

    def forget(self) -> None:
        """Starts watching afresh, at a start; the latch is not touched."""
        self._over = 0
        self._faulty = False
        self._fault_ms = 0
        self._flicker_ms = 0
        self._last_ms = 0
        self._seen = False
        self._last_centi = 0
        self._last_cold_centi = 0
        self._changed_ms = 0
        self._hot_board = False
        self._hot_board_ms = 0
        self._warming = False
        self._warming_ms = 0
        self._warming_centi = 0
        self._lowest_centi = 0
        self._peak_centi = 0
        self._peak_ms = 0
        self._rising = False
        self._was_roasting = False
        for index in range(JUMP_WINDOW_SAMPLES):
            self._jump_ring[index] = NOTHING_SEEN
        for index in range(WILD_WINDOW_SAMPLES):
            self._wild_ring[index] = 0

    def decide(self, sample, now_ms: int) -> int:
        """The reason to keep the heater off, trips.NONE when there is none."""
        if self.reason != trips.NONE:
            self._watch_open_relay(sample, now_ms)
        elif sample.relay_closed or sample.stage == stages.PREHEAT or sample.stage == stages.ROASTING:
            reason = self._judge(sample, now_ms)
            if reason != trips.NONE:
                self.trip(reason, sample.temperature_centi, now_ms)
                self.fault = sample.fault
        elif sample.stage == stages.COOLING and sample.heater_plan and self.limit_centi > 0:
            # The relay was told to open, and the heat is over the limit all the same.
            if sample.fault == faults.NONE and self._is_over(sample):
                self.trip(trips.OVER_LIMIT, sample.temperature_centi, now_ms)
        else:
            self._over = 0
            self._faulty = False
            self._seen = False
        self._last_ms = now_ms
        self._remember(sample)
        return self.reason

    def trip(self, reason: int, reading_centi: int, now_ms: int) -> None:
        """Latches a reason; the first one stays."""
        if self.reason == trips.NONE:
            self.reason = reason
            self.at_ms = now_ms
            self.reading_centi = reading_centi
            self.trip_limit_centi = self.limit_centi
            self.welded = False

    def may_clear(self, sample) -> bool:
        """True when the cause is gone and the temperature is well below the limit."""
        return (
            self.reason != trips.NONE
            and self.limit_centi > 0
            and sample.fault == faults.NONE
            and sample.filtered_centi <= min(self.limit_centi, self.trip_limit_centi) - CLEAR_MARGIN_CENTI
            and sample.cold_centi < COLD_JUNCTION_CENTI
        )

    def clear(self, sample) -> bool:
        if not self.may_clear(sample):
            return False
        self.reason = trips.NONE
        self.fault = faults.NONE
        self.welded = False
        self.forget()
        return True

    def _judge(self, sample, now_ms: int) -> int:
        if not 0 < self.limit_centi <= HIGHEST_LIMIT_CENTI or not 0 < self.longest_ms <= HIGHEST_LONGEST_MS:
            return trips.NO_LIMIT
        if self._seen and ticks_diff(now_ms, self._last_ms) > LATE_MS and sample.relay_closed:
            return trips.LOOP_LATE
        if sample.stage_ms >= self.longest_ms:
            return trips.LONGEST_ROAST
        if 0 < self.longest_heating_ms <= sample.heating_ms:
            return trips.LONGEST_HEATING
        if self._flickers(sample, now_ms):
            return trips.SENSOR_FAULT
        if sample.fault != faults.NONE:
            return self._judge_fault(now_ms)
        self._faulty = False
        if self._is_over(sample):
            return trips.OVER_LIMIT
        if self._board_is_hot(sample, now_ms):
            return trips.COLD_JUNCTION_HOT
        if self._is_frozen(sample, now_ms):
            return trips.FROZEN
        if self._jumps(sample):
            return trips.JUMP
        return self._judge_warming(sample, now_ms)

    def _is_over(self, sample) -> bool:
        # The filtered value as well: a reading that swings about the limit never has two samples in a row over it.
        if sample.temperature_centi >= self.limit_centi:
            self._over += 1
        else:
            self._over = 0
        return self._over >= OVER_LIMIT_SAMPLES or sample.filtered_centi >= self.limit_centi

    def _flickers(self, sample, now_ms: int) -> bool:
        if not self._seen:
            return False  # no earlier sample to count from; a probe that was never good is FAULT_MS's
        passed_ms = min(ticks_diff(now_ms, self._last_ms), FLICKER_STEP_MS)
        if sample.fault != faults.NONE:
            self._flicker_ms += passed_ms
        else:
            self._flicker_ms = max(0, self._flicker_ms - passed_ms // 2)
        return self._flicker_ms >= FLICKER_MS

    def _judge_fault(self, now_ms: int) -> int:
        if not self._faulty:
            self._faulty = True
            self._fault_ms = now_ms
        if ticks_diff(now_ms, self._fault_ms) >= FAULT_MS:
            return trips.SENSOR_FAULT
        return trips.NONE

    def _board_is_hot(self, sample, now_ms: int) -> bool:
        if sample.cold_centi < COLD_JUNCTION_CENTI:
            self._hot_board = False
            return False
        if not self._hot_board:
            self._hot_board = True
            self._hot_board_ms = now_ms
        return ticks_diff(now_ms, self._hot_board_ms) >= COLD_JUNCTION_MS

    def _is_frozen(self, sample, now_ms: int) -> bool:
        if (
            not self._seen
            or sample.temperature_centi != self._last_centi
            or sample.cold_centi != self._last_cold_centi
            or sample.temperature_centi < FROZEN_ABOVE_CENTI
        ):
            self._changed_ms = now_ms
            return False
        return ticks_diff(now_ms, self._changed_ms) >= FROZEN_MS

    def _jumps(self, sample) -> bool:
        jumped = self._seen and abs(sample.temperature_centi - self._last_centi) >= JUMP_CENTI
        self._wild_ring[self._wild_at] = 1 if jumped else 0
        self._wild_at = (self._wild_at + 1) % WILD_WINDOW_SAMPLES
        # While the beans go in and the probe finds its place, any change may be true.
        settled = sample.stage == stages.ROASTING and self._rising
        before = self._jump_ring[self._jump_at]
        self._jump_ring[self._jump_at] = sample.filtered_centi
        self._jump_at = (self._jump_at + 1) % JUMP_WINDOW_SAMPLES
        if not settled:
            return False
        return sum(self._wild_ring) >= WILD_JUMPS or (before != NOTHING_SEEN and sample.filtered_centi - before >= JUMP_CENTI)

    def _judge_warming(self, sample, now_ms: int) -> int:
        roasting = sample.stage == stages.ROASTING
        if roasting and not self._was_roasting:
            self._lowest_centi = sample.filtered_centi
            self._rising = False
            self._warming = False
        self._was_roasting = roasting
        if roasting and not self._rising:
            if sample.filtered_centi < self._lowest_centi:
                self._lowest_centi = sample.filtered_centi
            elif sample.filtered_centi - self._lowest_centi >= PROBE_IN_AIR_AFTER_RISE_CENTI:
                self._rising = True
                self._peak_centi = sample.filtered_centi
                self._peak_ms = now_ms
        if not sample.relay_closed:
            self._warming = False
            self._peak_centi = sample.filtered_centi
            self._peak_ms = now_ms
            return trips.NONE
        if self._falls_while_heated(sample, now_ms):
            return trips.PROBE_IN_AIR
        if not self._warming or self._has_warmed(sample):
            self._warming = True
            self._warming_ms = now_ms
            self._warming_centi = sample.filtered_centi
        elif ticks_diff(now_ms, self._warming_ms) >= NOT_WARMING_MS:
            return trips.NOT_WARMING
        elif sample.filtered_centi < self._warming_centi:
            # Cold beans in a hot vessel: first the probe falls to them. The time runs on, so that a probe that has fallen out
            # is still told.
            self._warming_centi = sample.filtered_centi
        return trips.NONE

    def _has_warmed(self, sample) -> bool:
        return (
            sample.filtered_centi >= self._warming_centi + NOT_WARMING_CENTI
            or sample.filtered_centi >= NOT_WARMING_BELOW_CENTI
        )

    def _falls_while_heated(self, sample, now_ms: int) -> bool:
        if not self._rising:
            return False
        if sample.filtered_centi >= self._peak_centi or ticks_diff(now_ms, self._peak_ms) > PROBE_IN_AIR_MS:
            self._peak_centi = sample.filtered_centi
            self._peak_ms = now_ms
        return self._peak_centi - sample.filtered_centi >= PROBE_IN_AIR_CENTI

    def _watch_open_relay(self, sample, now_ms: int) -> None:
        if (
            not self.welded
            and sample.heater_plan  # over a flame there is no relay that could be welded
            and self.reason == trips.OVER_LIMIT
            and sample.fault == faults.NONE
            and ticks_diff(now_ms, self.at_ms) >= WELDED_AFTER_MS
            and sample.filtered_centi - self.reading_centi >= WELDED_RISE_CENTI
            and sample.temperature_centi >= self._last_centi
        ):
            self.welded = True

    def _remember(self, sample) -> None:
        if sample.fault == faults.NONE:
            self._seen = True
            self._last_centi = sample.temperature_centi
            self._last_cold_centi = sample.cold_centi
