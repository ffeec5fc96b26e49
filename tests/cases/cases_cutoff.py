"""The cutoff: every threshold from both sides, in value and in time. The numbers are those at the top of cutoff.py."""

from panchime_fw import cutoff, faults, stages, trips

LIMIT = 24500
LONGEST_MS = 20 * 60000


class Run:
    """Feeds samples 250 ms apart and keeps the first reason and when it came."""

    def __init__(self, relay=True, stage=stages.ROASTING, start_ms=0, longest_heating_ms=0):
        self.cutoff = cutoff.Cutoff()
        self.cutoff.limit_centi = LIMIT
        self.cutoff.longest_ms = LONGEST_MS
        self.cutoff.longest_heating_ms = longest_heating_ms
        self.sample = cutoff.Sample()
        self.sample.relay_closed = relay
        self.sample.stage = stage
        self.sample.cold_centi = 2500
        self.now_ms = start_ms
        self.start_ms = start_ms
        self.tripped_ms = None

    def feed(self, centi, fault=faults.NONE, filtered=None, cold=None, after_ms=250):
        self.now_ms += after_ms
        sample = self.sample
        sample.fault = fault
        sample.temperature_centi = centi
        sample.filtered_centi = centi if filtered is None else filtered
        if cold is not None:
            sample.cold_centi = cold
        sample.stage_ms = self.now_ms - self.start_ms
        sample.heating_ms = self.now_ms - self.start_ms if sample.relay_closed else 0
        reason = self.cutoff.decide(sample, self.now_ms & 0x3FFFFFFF)
        if reason != trips.NONE and self.tripped_ms is None:
            self.tripped_ms = self.now_ms
        return reason

    def ramp(self, from_centi, to_centi, seconds):
        steps = seconds * 4
        reason = trips.NONE
        for step in range(1, steps + 1):
            # The last bit of the amplifier flickers, as it does.
            reason = self.feed(from_centi + (to_centi - from_centi) * step // steps + (step % 2) * 25)
        return reason


def check_limit(temperatures, reason):
    run = Run()
    run.ramp(15000, 24400, 120)
    last = trips.NONE
    for centi in temperatures:
        last = run.feed(centi, filtered=24400)  # the filter has not followed yet
    assert last == reason, last


def check_fault_time(times_ms, reason):
    run = Run()
    run.ramp(15000, 18000, 60)
    last = run.feed(18000, faults.OPEN)
    for after_ms in times_ms:
        last = run.feed(18000, faults.OPEN, after_ms=after_ms)
    assert last == reason, last


def check_fault_forgets(pattern, reason):
    run = Run()
    run.ramp(15000, 18000, 60)
    last = trips.NONE
    for letter in pattern:
        last = run.feed(18000 + run.now_ms % 500, faults.OPEN if letter == "x" else faults.NONE)
    assert last == reason, last


def check_flicker(pattern, seconds, reason):
    """A fault that comes and goes, four samples a second, the pattern over and over."""
    run = Run()
    run.ramp(15000, 18000, 60)
    last = trips.NONE
    for index in range(seconds * 4):
        bad = pattern[index % len(pattern)] == "x"
        last = run.feed(18000 + index * 5, faults.OPEN if bad else faults.NONE)
        if last != trips.NONE:
            break
    assert last == reason, last


def check_cooling_over_the_limit(heater_plan, temperatures, reason):
    run = Run(relay=False, stage=stages.COOLING)
    run.sample.heater_plan = heater_plan
    last = trips.NONE
    for centi in temperatures:
        last = run.feed(centi, filtered=24400)
    assert last == reason, last


def check_swinging_about_the_limit(low_centi, high_centi, reason):
    run = Run()
    run.ramp(15000, 24000, 120)
    last = trips.NONE
    for index in range(40):
        raw = high_centi if index % 2 else low_centi
        last = run.feed(raw, filtered=high_centi if index % 4 == 3 else low_centi)
    assert last == reason, last


def check_longest(stage, stage_ms, reason):
    run = Run(stage=stage)
    run.sample.stage_ms = stage_ms
    run.now_ms = stage_ms - 250
    assert run.feed(10000) == reason


def check_longest_heating(heating_ms, bound_ms, reason):
    run = Run(longest_heating_ms=bound_ms)
    run.now_ms = heating_ms - 250
    assert run.feed(10000) == reason


def check_no_limit(limit_centi, longest_ms, reason):
    run = Run()
    run.cutoff.limit_centi = limit_centi
    run.cutoff.longest_ms = longest_ms
    assert run.feed(10000) == reason


def check_late(gap_ms, relay, reason):
    run = Run(relay=relay)
    run.feed(15000)
    assert run.feed(15025, after_ms=gap_ms) == reason


def check_cold_junction(cold_centi, seconds, reason):
    run = Run()
    run.ramp(15000, 16000, 30)
    last = trips.NONE
    for step in range(seconds * 4 + 1):
        last = run.feed(16000 + step * 5, cold=cold_centi)
    assert last == reason, last


def check_frozen(seconds, centi, reason):
    run = Run(stage=stages.ROASTING, relay=False)
    run.feed(centi - 25)
    run.feed(centi)
    last = trips.NONE
    for _ in range(seconds * 4):
        last = run.feed(centi)
    assert last == reason, last


def check_jump(rise_centi, samples, reason):
    """A rise that the filter passes on, spread over so many samples."""
    run = Run(relay=False)
    run.ramp(15000, 20000, 120)
    last = trips.NONE
    for step in range(1, samples + 1):
        last = run.feed(20000 + rise_centi * step // samples)
    assert last == reason, last


def check_wild(spikes, of_samples, reason):
    """Single spikes that the filter hides, but too many of them."""
    run = Run(relay=False)
    run.ramp(15000, 20000, 120)
    last = trips.NONE
    for index in range(of_samples):
        spike = index % 3 == 1 and index // 3 < spikes
        last = run.feed(24000 if spike else 20000 + index * 25, filtered=20000 + index * 25)
        if last != trips.NONE:
            break
    assert last == reason, last


def check_not_warming(rise_centi, seconds, start_centi, reason):
    run = Run()
    run.feed(start_centi)
    assert run.ramp(start_centi, start_centi + rise_centi, seconds) == reason, run.cutoff.reason


def check_probe_in_air(fall_centi, seconds, relay, reason):
    run = Run(relay=relay)
    run.ramp(10000, 18500, 300)
    assert run.ramp(18500, 18500 - fall_centi, seconds) == reason, run.cutoff.reason


def check_idle_never_trips(stage):
    run = Run(relay=False, stage=stage)
    for step in range(400):
        assert run.feed(26000 + step) == trips.NONE
        assert run.feed(26000, faults.OPEN) == trips.NONE


def check_first_reason_stays(_):
    run = Run()
    run.ramp(15000, 24000, 120)
    run.feed(24600)
    assert run.feed(24600) == trips.OVER_LIMIT
    for _ in range(20):
        assert run.feed(24600, faults.OPEN) == trips.OVER_LIMIT
    assert run.cutoff.reading_centi == 24600


def check_clearing(centi, fault, cleared):
    run = Run()
    run.ramp(15000, 24000, 120)
    run.feed(24600)
    run.feed(24600)
    run.sample.relay_closed = False
    run.feed(centi, fault)
    assert run.cutoff.clear(run.sample) == cleared
    assert (run.cutoff.reason == trips.NONE) == cleared


def check_welded(heater_plan, rise_centi, seconds, welded):
    run = Run()
    run.sample.heater_plan = heater_plan
    run.ramp(15000, 24000, 120)
    run.feed(24600)
    run.feed(24600)
    run.sample.relay_closed = False
    run.ramp(24600, 24600 + rise_centi, seconds)
    assert run.cutoff.welded == welded


def check_start_late_in_the_clock(start_ms):
    run = Run(start_ms=start_ms)
    run.cutoff.forget()
    assert run.ramp(2000, 15000, 120) == trips.NONE, run.cutoff.reason


def check_wrap(start_ms):
    run = Run(start_ms=start_ms)
    run.ramp(15000, 18000, 60)
    for _ in range(5):
        run.feed(18000, faults.OPEN)
    assert run.cutoff.reason == trips.SENSOR_FAULT


N = trips.NONE

TABLES = {
    "limit": (
        check_limit,
        [
            ([24499, 24499, 24499], N), ([24500], N), ([24500, 24500], trips.OVER_LIMIT), ([24500, 24499, 24500], N),
            ([24600, 24400, 24600, 24400], N), ([24600, 24700], trips.OVER_LIMIT),
        ],
    ),
    "fault longer than a second": (
        check_fault_time, [([250, 250, 250], N), ([999], N), ([1000], trips.SENSOR_FAULT), ([250] * 4, trips.SENSOR_FAULT)],
    ),
    "a fault that goes away is forgotten": (
        check_fault_forgets, [("xxx.xxx.xxx.", N), ("xxxx.xxxx", N), ("xxxxx", trips.SENSOR_FAULT)],
    ),
    "a fault that comes and goes": (
        check_flicker, [("xxx.", 12, N), ("xxx.", 20, trips.SENSOR_FAULT), ("x...", 300, N), ("xx....", 300, N)],
    ),
    "over the limit while cooling": (
        check_cooling_over_the_limit,
        [
            (True, [24600], N), (True, [24600, 24600], trips.OVER_LIMIT), (False, [24600, 24600, 24600], N),
            (True, [24499] * 8, N),
        ],
    ),
    "swinging about the limit": (
        check_swinging_about_the_limit, [(24350, 24650, trips.OVER_LIMIT), (24350, 24499, N)],
    ),
    "longest roast": (
        check_longest,
        [
            (stages.ROASTING, LONGEST_MS - 1, N), (stages.ROASTING, LONGEST_MS, trips.LONGEST_ROAST),
            (stages.PREHEAT, LONGEST_MS - 1, N), (stages.PREHEAT, LONGEST_MS, trips.LONGEST_ROAST),
        ],
    ),
    "longest heating": (
        check_longest_heating,
        [(299999, 300000, N), (300000, 300000, trips.LONGEST_HEATING), (900000, 0, N)],
    ),
    "limits broken or missing": (
        check_no_limit,
        [(0, LONGEST_MS, trips.NO_LIMIT), (-1, LONGEST_MS, trips.NO_LIMIT), (LIMIT, 0, trips.NO_LIMIT), (LIMIT, LONGEST_MS, N)],
    ),
    "late loop": (
        check_late, [(cutoff.LATE_MS, True, N), (cutoff.LATE_MS + 1, True, trips.LOOP_LATE), (5000, False, N)],
    ),
    "board too hot": (
        check_cold_junction,
        [(6999, 10, N), (7000, 1, N), (7000, 2, trips.COLD_JUNCTION_HOT), (9000, 2, trips.COLD_JUNCTION_HOT)],
    ),
    "frozen": (
        check_frozen, [(29, 20000, N), (30, 20000, trips.FROZEN), (30, 6000, trips.FROZEN), (60, 5999, N)],
    ),
    "jump": (
        check_jump, [(2400, 3, N), (2600, 3, trips.JUMP), (4000, 30, N), (3000, 4, trips.JUMP), (3000, 8, N)],
    ),
    "wild readings": (check_wild, [(1, 12, N), (3, 12, N), (4, 12, trips.JUMP)]),
    "heater on and no warming": (
        check_not_warming,
        [
            (0, 149, 15000, N), (0, 151, 15000, trips.NOT_WARMING), (500, 300, 15000, trips.NOT_WARMING),
            (700, 300, 15000, N), (0, 400, 18000, N),
        ],
    ),
    "probe in air": (
        check_probe_in_air,
        [(2400, 30, True, N), (2600, 30, True, trips.PROBE_IN_AIR), (2600, 30, False, N), (2600, 90, True, N)],
    ),
    "idle and cooling never trip": (check_idle_never_trips, [(stages.IDLE,), (stages.COOLING,)]),
    "the first reason stays": (check_first_reason_stays, [(0,)]),
    "clearing": (
        check_clearing,
        [(23500, faults.NONE, True), (23501, faults.NONE, False), (20000, faults.OPEN, False), (24600, faults.NONE, False)],
    ),
    "relay welded": (
        check_welded,
        [
            (True, 900, 40, False), (True, 1100, 40, True), (True, 1100, 29, False), (True, -2000, 60, False),
            (False, 1100, 40, False),
        ],
    ),
    "a start at any moment of the clock": (
        check_start_late_in_the_clock, [(0,), ((1 << 29) - 5,), ((1 << 29) + 5,), (900000000,), ((1 << 30) - 200,)],
    ),
    "across the wrap of the clock": (check_wrap, [((1 << 30) - 30000,), ((1 << 30) - 60500,)]),
}  # fmt: skip
