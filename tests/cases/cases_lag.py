"""Ahead of the probe by its lag: exact where that can be said, bounded in noise, and never a lower caution."""

from bench_session import Bench

from panchime_fw import events, settings, trips
from panchime_fw.lag import LagCompensator

STEP_MS = 250


def ramp(lag, centi_per_min, seconds, start_centi=10000, start_ms=0):
    """What a probe with the lag shows of a ramp, once it has settled: the ramp itself, later by the lag."""
    for t_ms in range(start_ms, start_ms + seconds * 1000 + 1, STEP_MS):
        lag.add(t_ms, start_centi + centi_per_min * (t_ms - start_ms) // 60000)
    return start_centi + centi_per_min * seconds // 60


def check_ramp(lag_ms, centi_per_min):
    lag = LagCompensator(lag_ms)
    shown = ramp(lag, centi_per_min, 60)
    wanted = shown + centi_per_min * lag_ms // 60000
    # The slope sees the temperature in steps of 0.05 degC: half a step at both ends of its window, over the whole lag.
    allowed = 5 * lag_ms // lag.slope_ms + 2
    assert abs(lag.compensated_centi - wanted) <= allowed, (lag.compensated_centi, wanted)


def check_none_changes_nothing():
    lag = LagCompensator(0)
    for t_ms, centi in ((0, 2000), (250, 9000), (500, -100), (60000, 23000)):
        assert lag.add(t_ms, centi) == centi
        assert lag.compensated_centi == centi


def check_not_before_the_slope_is_known():
    lag = LagCompensator(10000)
    for t_ms in range(0, 7500, STEP_MS):
        assert lag.add(t_ms, 10000 + t_ms) == 10000 + t_ms, t_ms
    assert lag.add(7500, 17500) > 17500
    lag.reset()
    assert lag.add(7750, 17750) == 17750, "a reset one remembers"


def check_bounded(lag_ms, to_centi):
    """A probe laid into the beans or taken out: the slope counts for at most 2 degC a second."""
    lag = LagCompensator(lag_ms)
    ramp(lag, 0, 30)
    most = 0
    for step in range(1, 200):
        lag.add(30000 + step * STEP_MS, to_centi)
        most = max(most, abs(lag.compensated_centi - to_centi))
    # A tenth of a second is the finest lag, a hundredth of a degree the finest answer.
    assert most <= 12000 * lag_ms // 60000 + 1, most
    assert lag.compensated_centi == to_centi, "it never settles"


def check_noise(lag_ms, share_percent):
    """A MAX31855's last bit flickering at random on a flat line: how much of it comes through, in per cent."""
    lag = LagCompensator(lag_ms)
    state = 12345
    worst = 0
    for step in range(4000):
        state = (state * 1103 + 12345) % 65536
        centi = 20000 + (25 if state & 0x100 else 0)
        lag.add(step * STEP_MS, centi)
        if step > 400:
            worst = max(worst, abs(lag.compensated_centi - 20012) - 13)
    assert worst * 100 <= 25 * share_percent, worst
    assert worst > 0


def check_refused(lag_ms):
    try:
        LagCompensator(lag_ms)
    except ValueError as error:
        assert "must be 0 to 60000 ms" in str(error)
        return
    raise AssertionError("taken")


def with_lag(settings_s, **plan):
    bench = Bench(**plan)
    bench.session.take_settings(settings.Settings(dict(settings.DEFAULTS, probe_lag_s=settings_s)))
    return bench


def check_whose_lag(settings_s, plan, wanted_ms):
    assert with_lag(settings_s, **plan).session.lag.lag_ms == wanted_ms


def milestone_centi(settings_s, plan_s=None):
    """What the probe shows when the milestone at 150 degC sounds, on a rise of 30 degC a minute."""
    plan = {"milestone": [{"label": "A", "rises_to": 150, "sound": "rising"}]}
    if plan_s is not None:
        plan["probe_lag_s"] = plan_s
    bench = with_lag(settings_s, **plan)
    bench.start()
    bench.feed(30, 2000, 3500)
    for _ in range(1200):
        bench.feed(0.25, bench.reading.temperature_centi, bench.reading.temperature_centi + 12)
        if bench.kinds(events.MILESTONE):
            return bench.reading.temperature_centi
    raise AssertionError("it never sounds")


def check_milestone_comes_early(settings_s, plan_s, early_centi):
    # 30 degC a minute here comes as 12 hundredths a sample, 28.8 degC a minute.
    late = milestone_centi(0)
    assert abs(late - milestone_centi(settings_s, plan_s) - early_centi) <= 50, milestone_centi(settings_s, plan_s)


def check_cutoff_takes_the_higher(lag_s, trip_centi):
    """Limit 230 degC, 28.8 degC a minute: where the probe stands when the relay opens."""
    bench = with_lag(lag_s)
    bench.start()
    bench.feed(60, 2000, 15000)
    session = bench.session
    while session.cutoff.reason == trips.NONE:
        bench.feed(0.25, bench.reading.temperature_centi, bench.reading.temperature_centi + 12)
    assert session.cutoff.reason == trips.OVER_LIMIT
    assert not bench.relay[-1]
    assert abs(bench.reading.temperature_centi - trip_centi) <= 60, bench.reading.temperature_centi
    # What was measured is what is shown, whatever met the limit.
    assert abs(session.measured_centi - bench.reading.temperature_centi) <= 25


def check_falling_probe_hides_nothing():
    """Over the limit and falling: the compensated value is below it, the measured one is not, and it trips."""
    bench = with_lag(10)
    bench.start()
    bench.feed(60, 2000, 15000)
    bench.session.cutoff.limit_centi = 27000
    bench.feed(30, 15000, 24000)
    bench.feed(20, 24000, 23400)
    assert bench.session.lag.compensated_centi < 23300
    bench.session.cutoff.limit_centi = 23300
    bench.feed(0.5, 23400, 23390)
    assert bench.session.cutoff.reason == trips.OVER_LIMIT, bench.session.cutoff.reason


def check_the_frozen_are_still_found(lag_s):
    bench = with_lag(lag_s)
    bench.start()
    bench.feed(400, 2000, 15000)
    session = bench.session
    frozen_ms = 0
    while session.cutoff.reason == trips.NONE and frozen_ms < 60000:
        bench.now_ms += STEP_MS
        frozen_ms += STEP_MS
        session.on_sample(bench.reading, bench.now_ms)
    assert session.cutoff.reason == trips.FROZEN, session.cutoff.reason
    assert frozen_ms <= 30500, frozen_ms


def check_relay_waits_for_the_amplifier():
    bench = Bench()
    session = bench.session
    session.probe_trusted = False
    assert not bench.start()
    assert "before the amplifier is known" in session.why_not_start(bench.now_ms)
    session.probe_trusted = True
    assert bench.start()
    assert bench.relay[-1]
    session.probe_trusted = False
    bench.feed(0.25)
    assert not bench.relay[-1]
    assert not session.relay_on(bench.now_ms)


def check_settings_wait_for_the_roast():
    bench = Bench()
    bench.start()
    assert not bench.session.take_settings(settings.Settings(dict(settings.DEFAULTS, probe_lag_s=5)))
    assert bench.session.lag.lag_ms == 0


TABLES = {
    "ramp": (check_ramp, [(lag, rate) for lag in (1000, 4000, 8500, 34000, 60000) for rate in (300, 1500, -2000, 9000)]),
    "no lag": (check_none_changes_nothing, [()]),
    "slope not known": (check_not_before_the_slope_is_known, [()]),
    "bounded": (check_bounded, [(lag, to) for lag in (500, 8000, 60000) for to in (25000, -2000)]),
    "noise": (check_noise, [(2000, 60), (8000, 90), (34000, 110), (60000, 190)]),
    "refused": (check_refused, [(-1,), (60001,)]),
    "whose lag": (
        check_whose_lag,
        [
            (0, {}, 0), (8.5, {}, 8500), (8.5, {"probe_lag_s": 3}, 3000), (8.5, {"probe_lag_s": 0}, 0),
            (0, {"probe_lag_s": 60}, 60000),
        ],
    ),
    "milestones come early": (check_milestone_comes_early, [(10, None, 480), (0, 10, 480), (10, 0, 0), (20, 5, 240)]),
    "the cutoff takes the higher": (check_cutoff_takes_the_higher, [(0, 23000), (5, 22760), (20, 22040)]),
    "a falling probe hides nothing": (check_falling_probe_hides_nothing, [()]),
    "the frozen are found": (check_the_frozen_are_still_found, [(0,), (20,), (60,)]),
    "the relay waits for the amplifier": (check_relay_waits_for_the_amplifier, [()]),
    "settings wait for the roast": (check_settings_wait_for_the_roast, [()]),
}  # fmt: skip
