"""Virtual roasts take the course that roasters know; a cold day makes them longer."""

import itertools

import pytest

from panchime.errors import PanchimeError
from panchime.virtual.roaster.kitchen import FIRST_CRACK_C, Kitchen
from panchime.virtual.roaster.probe import Probe
from panchime.virtual.roaster.scenario import load_scenario, scenario_names

METHODS = ["skillet", "crank-popper", "hot-air-popper", "oven-tray"]
HOT = ["skillet", "crank-popper", "oven-tray"]


class Roasted:
    """A scenario run to its last act, the relay closed all the while."""

    def __init__(self, name, seed=1):
        self.kitchen = Kitchen(load_scenario(name), seed)
        while len(self.kitchen.person.done) < len(self.kitchen.person.acts):
            self.kitchen.step(relay_closed=True)
            assert self.kitchen.t_s < 4000, f"{name} never came to its end"
        self.acts = dict(self.kitchen.person.done)
        self.start_s = self.acts["beans in"]
        self.points = [point for point in self.kitchen.trace if point.bean_c is not None]

    def minutes(self, act):
        return (self.acts[act] - self.start_s) / 60

    def turn(self):
        lowest = min(self.points, key=lambda point: point.probe_c)
        return lowest.t_s - self.start_s, lowest.probe_c


@pytest.fixture(scope="module")
def roasted():
    done = {}

    def roast(name):
        if name not in done:
            done[name] = Roasted(name)
        return done[name]

    return roast


def test_nine_scenarios_come_along():
    days = [f"{method}-{day}" for method in METHODS for day in ("mild", "freezing")]
    assert scenario_names() == sorted([*days, "skillet-extreme-cold"])


@pytest.mark.parametrize("method", METHODS)
def test_mild_day_takes_its_usual_course(roasted, method):
    roast = roasted(f"{method}-mild")
    # Common practice of home roasters, no source.
    assert 3.5 <= roast.minutes("yellow") <= 6
    assert 7 <= roast.minutes("first crack") <= 11
    assert 9 <= roast.minutes("beans out") <= 14
    assert 210 <= roast.kitchen.out.bean_c <= 222
    assert 0.01 <= roast.kitchen.out.moisture <= 0.05
    development = 1 - roast.minutes("first crack") / roast.minutes("beans out")
    assert 0.15 <= development <= 0.26


@pytest.mark.parametrize("method", HOT)
def test_hot_loaded_probe_drops_to_a_turning_point(roasted, method):
    after_s, probe_c = roasted(f"{method}-mild").turn()
    assert 50 <= after_s <= 120
    assert 78 <= probe_c <= 110


@pytest.mark.parametrize("method", HOT)
def test_rate_of_rise_declines(roasted, method):
    roast = roasted(f"{method}-mild")
    crack_s = roast.acts["first crack"]
    per_minute = [point.bean_c for point in roast.points if point.t_s >= roast.start_s + 120][::60]
    rises = [later - earlier for earlier, later in itertools.pairwise(per_minute)]
    assert all(rise > 0 for rise in rises)
    assert all(later < earlier * 1.06 for earlier, later in itertools.pairwise(rises)), rises
    assert rises[-1] < rises[0] / 2
    assert crack_s > roast.start_s


@pytest.mark.parametrize("method", METHODS)
def test_freezing_day_is_longer(roasted, method):
    mild, freezing = roasted(f"{method}-mild"), roasted(f"{method}-freezing")
    assert freezing.minutes("first crack") > mild.minutes("first crack") * 1.1
    assert freezing.minutes("beans out") > mild.minutes("beans out") * 1.1
    if method in HOT:
        assert freezing.start_s > mild.start_s, "preheating takes longer too"


def test_extreme_cold_does_not_reach_first_crack(roasted):
    roast = roasted("skillet-extreme-cold")
    assert roast.kitchen.first_crack_s is None
    highest = max(point.bean_c for point in roast.points)
    assert 150 < highest < FIRST_CRACK_C


def test_probe_lag_is_exact_whatever_the_step():
    slow, fast = Probe(20.0, 10.0, 0.0, 0), Probe(20.0, 10.0, 0.0, 0)
    for _ in range(200):
        slow.step(120.0, 0.05)
    fast.step(120.0, 10.0)
    assert slow.tip_c == pytest.approx(fast.tip_c)
    assert fast.tip_c == pytest.approx(20 + 100 * (1 - 0.367879), abs=1e-3)  # 63 % after one time constant


def test_ramp_lags_by_rate_times_time_constant():
    # A 3 mm sheath in air: tau 34 s lags 5.7 degC at 10 degC/min.
    probe, air = Probe(20.0, 34.0, 0.0, 0), 20.0
    for _ in range(12000):
        air += 10 / 60 * 0.05
        probe.step(air, 0.05)
    assert air - probe.tip_c == pytest.approx(34 * 10 / 60, abs=0.05)


def test_noise_repeats_with_its_seed():
    readings = {seed: [Probe(100.0, 1.0, 0.2, seed).reading_c() for _ in range(1)] for seed in (1, 2)}
    assert readings[1] != readings[2]
    assert readings[1] == [Probe(100.0, 1.0, 0.2, 1).reading_c()]


def test_seeds_make_lots(roasted):
    first, again, other = Roasted("skillet-mild", 3), Roasted("skillet-mild", 3), Roasted("skillet-mild", 4)
    assert first.acts == again.acts
    assert first.acts != other.acts


def test_popper_stays_cold_without_its_relay():
    kitchen = Kitchen(load_scenario("hot-air-popper-mild"), 1)
    for _ in range(20 * 120):
        kitchen.step(relay_closed=False)
    assert kitchen.bean_c == pytest.approx(18.0, abs=0.1)


def test_tipped_out_beans_cool_below_40_within_four_minutes(roasted):
    roast = Roasted("skillet-mild")
    out_s = roast.kitchen.t_s
    while roast.kitchen.probe.tip_c > 40:
        roast.kitchen.step(relay_closed=False)
    assert roast.kitchen.t_s - out_s < 330


def test_cold_junction_warms_beside_the_stove(roasted):
    kitchen = roasted("skillet-mild").kitchen
    assert 18 + 3 < kitchen.cold_c < 18 + 6


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("[day]", "[day]\nrain = 1"), r"\[day\] does not know rain"),
        (("bean_reaches = 160.0", ""), "'yellow' needs one of"),
        (('press = "short"', 'press = "soft"'), "press 'soft' is none of"),
        (('deed = "load"', 'deed = "eat"'), "deed 'eat' is none of"),
        (("flame = 0.65", ""), "flame"),
        (("[probe]", "[probe"), "line 24, column 7: brackets are closed"),
    ],
)
def test_mistakes_in_a_scenario_are_named(tmp_path, change, words):
    from panchime.virtual.roaster.scenario import FOLDER

    text = (FOLDER / "skillet-mild.toml").read_text()
    assert change[0] in text
    (tmp_path / "mine.toml").write_text(text.replace(*change, 1))
    with pytest.raises(PanchimeError, match=words):
        load_scenario(str(tmp_path / "mine.toml"))


def test_unknown_scenario_names_the_known_ones():
    with pytest.raises(PanchimeError, match="skillet-mild"):
        load_scenario("wok-on-the-moon")
