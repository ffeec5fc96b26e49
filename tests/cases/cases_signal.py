"""The spike filter and the rate of rise, on sequences whose answer is known without computing it twice."""

from panchime_fw.signal import RateOfRise, SpikeFilter


def check_filter(samples: tuple, expected: tuple) -> None:  # type: ignore[type-arg]
    spikes = SpikeFilter()
    for index in range(len(samples)):
        found = spikes.add(samples[index])
        assert found == expected[index], "sample %d: %d instead of %d" % (index, found, expected[index])


def check_filter_reset() -> None:
    spikes = SpikeFilter()
    for _ in range(3):
        spikes.add(20000)
    spikes.reset()
    assert spikes.add(2500) == 2500, "a reset filter remembers"


def fed(window_ms: int, slope_centi_per_min: int, start_centi: int, seconds: int, step_ms: int = 250) -> RateOfRise:
    rate = RateOfRise(window_ms)
    for t_ms in range(0, seconds * 1000 + 1, step_ms):
        rate.add(t_ms, start_centi + slope_centi_per_min * t_ms // 60000)
    return rate


def check_straight(window_ms: int, slope_centi_per_min: int, start_centi: int, seconds: int) -> None:
    rate = fed(window_ms, slope_centi_per_min, start_centi, seconds)
    assert rate.ready, "not ready"
    # Half a step of 0.05 degC at both ends of a window, at worst.
    allowed = 5 * 60000 // window_ms + 1
    assert abs(rate.centi_per_min - slope_centi_per_min) <= allowed, "%d" % rate.centi_per_min


def check_ready(window_ms: int, ms: int, ready: bool) -> None:
    rate = RateOfRise(window_ms)
    for t_ms in range(0, ms + 1, 250):
        rate.add(t_ms, 20000 + t_ms // 10)
    assert rate.ready == ready, "ready is %s" % rate.ready
    assert (rate.centi_per_min != 0) == ready, "%d" % rate.centi_per_min


def check_gap(gap_ms: int, ready: bool) -> None:
    """A straight line of 12 degC/min with a hole in it; window 30 s."""
    rate = RateOfRise(30000)
    for t_ms in range(0, 40001, 250):
        rate.add(t_ms, 20000 + t_ms // 50)
    t_ms = 40000 + gap_ms
    rate.add(t_ms, 20000 + t_ms // 50)
    assert rate.ready == ready, "ready is %s" % rate.ready
    if ready:
        assert abs(rate.centi_per_min - 1200) <= 11, "%d" % rate.centi_per_min


def check_backwards() -> None:
    rate = fed(30000, 1200, 20000, 40)
    rate.add(39000, 20800)
    assert not rate.ready, "time ran backwards and the line went on"
    assert rate.centi_per_min == 0, "time ran backwards and the line went on"


def check_reset() -> None:
    rate = fed(30000, 1200, 20000, 40)
    rate.reset()
    assert not rate.ready, "a reset rate remembers"
    assert rate.centi_per_min == 0, "a reset rate remembers"
    for t_ms in range(40000, 75000, 250):
        rate.add(t_ms, 20000 - (t_ms - 40000) // 100)
    assert abs(rate.centi_per_min + 600) <= 11, "%d" % rate.centi_per_min


def check_held(centi: int) -> None:
    """Outside -50 to 600 degC the rate sees a flat line."""
    rate = RateOfRise(30000)
    for t_ms in range(0, 40001, 250):
        rate.add(t_ms, centi + t_ms // 50 * (1 if centi > 0 else -1))
    assert rate.ready, "not ready"
    assert rate.centi_per_min == 0, "%d" % rate.centi_per_min


def check_fast_samples() -> None:
    """Ten samples a second fill the room early: the span stays short, and the rate says so instead of telling wrong."""
    rate = fed(30000, 1200, 20000, 60, 100)
    assert not rate.ready, "ready with a third of the window"


def check_refused(window_ms: int) -> None:
    message = ""
    try:
        RateOfRise(window_ms)
    except ValueError as error:
        message = str(error)
    assert "20000 to 60000 ms" in message, message or "it was taken"


TABLES = {
    "spike filter": (
        check_filter,
        [
            ((100, 100, 100), (100, 100, 100)),
            # one wrong sample, either way, never comes through
            ((100, 100, 900, 100, 100), (100, 100, 100, 100, 100)),
            ((100, 100, -900, 100, 100), (100, 100, 100, 100, 100)),
            # not even as the second sample
            ((100, 900, 100, 100), (100, 100, 100, 100)),
            # two wrong ones among five, on end or not, never come through
            ((100, 100, 900, 900, 100, 100), (100, 100, 100, 100, 100, 100)),
            ((100, 100, 900, 100, 900, 100, 100), (100, 100, 100, 100, 100, 100, 100)),
            # a step comes through two samples late
            ((100, 100, 200, 200, 200), (100, 100, 100, 100, 200)),
            # a ramp comes through two samples late
            ((100, 110, 120, 130, 140, 150), (100, 100, 100, 110, 120, 130)),
            ((140, 130, 120, 110, 100, 90), (140, 140, 140, 130, 120, 110)),
            # three wrong samples in a row do come through: that is for the jump check
            ((100, 100, 900, 900, 900, 100, 100, 100), (100, 100, 100, 100, 900, 900, 900, 100)),
            # three in every other sample of five do not, from a leap of 25 degC on
            ((100, 100, 2600, 100, 2600, 100, 2600, 100), (100, 100, 100, 100, 100, 100, 100, 100)),
            ((3000, 3000, 500, 3000, 400, 3000, 300, 3000), (3000, 3000, 3000, 3000, 3000, 3000, 3000, 3000)),
            ((100, 100, 2599, 100, 2599, 100, 2599, 100), (100, 100, 100, 100, 100, 100, 2599, 100)),
            # and a true leap is no later than any step
            ((100, 100, 2600, 2600, 2600, 2600), (100, 100, 100, 100, 2600, 2600)),
            ((100, 100, 1350, 2600, 2600, 2600), (100, 100, 100, 100, 1350, 2600)),
        ],
    ),
    "spike filter, reset": (check_filter_reset, [()]),
    "straight lines": (
        check_straight,
        [
            (window, slope, start, 90)
            for window in (20000, 30000, 45000, 60000)
            for slope, start in ((0, 20000), (100, 18000), (1000, 15000), (3000, 9000), (-2000, 24000), (20000, 2000))
        ],
    ),
    "ready at three quarters of the window": (
        check_ready,
        [
            (20000, 14750, False),
            (20000, 15000, True),
            (30000, 22250, False),
            (30000, 22500, True),
            (60000, 44750, False),
            (60000, 45000, True),
        ],
    ),
    "a gap of a quarter of the window is bridged": (
        check_gap,
        [(250, True), (5000, True), (7500, True), (7750, False), (60000, False)],
    ),
    "time running backwards": (check_backwards, [()]),
    "reset": (check_reset, [()]),
    "held beyond any roast": (check_held, [(61000,), (-6000,)]),
    "samples too fast": (check_fast_samples, [()]),
    "refused windows": (check_refused, [(19999,), (60001,), (0,), (-30000,)]),
}
