"""A person who only hears: with the guide's cues and a hand on the flame, the roast keeps to a curve it would else leave."""

import math
from dataclasses import replace

import pytest

from panchime.measure.roast_bench import RoastBench
from panchime.virtual.roaster.person import Act
from panchime.virtual.roaster.scenario import load_scenario
from panchime_fw import sounds, stages
from panchime_fw.plan import compile_plan

LOAD = Act(name="beans in", probe_reaches=200.0, deed="load", press="short")
OUT_C = 215.0
OUT = Act(name="beans out", bean_reaches=OUT_C, or_after_s=1500.0, deed="unload", press="short", flame=0.0)
# The flame of the day whose curve is the guide.
FLAME = 0.65
# What a person does on hearing a cue: a little for a step, more for two. They know their stove, no more.
TURN = 0.08
TURN_MUCH = 0.2
LEAST_FLAME, MOST_FLAME = 0.2, 1.0
# A rest of this length ends what the person takes for one cue.
REST_MS = 500


def document(guide=None):
    found = {
        "name": "By ear", "method": "skillet", "limit": 250, "longest_roast_min": 40,
        "marks": ["beans in", "first crack", "beans out"],
        "milestone": [
            {"label": "Yellow", "sound": "yellow", "rises_to": 150},
            {"label": "First crack soon", "sound": "first crack soon", "ahead_s": 30, "of": 196},
            {"label": "First crack", "sound": "first crack", "rises_to": 196},
        ],
    }  # fmt: skip
    if guide is not None:
        found |= {"guide": guide, "guide_every_s": 30, "guide_band": 3}
    return found


def day(strength, wind=1.0, load=1.0, air_c=18.0):
    scenario = load_scenario("skillet-mild")
    return replace(
        scenario,
        flame=FLAME,
        day=replace(scenario.day, strength=strength, wind=wind, air_c=air_c),
        load=replace(scenario.load, dry_kg=scenario.load.dry_kg * load),
    )


class Listener:
    """Hears the piezo and turns the flame. Sees no temperature, no clock of the roast and nothing of the plan."""

    def __init__(self):
        self.taken = 0
        self.notes = []
        self.cues = 0

    def step(self, bench, now_ms):
        for tone in bench.tones[self.taken :]:
            if tone.hz:
                self.notes.append(tone.hz)
        self.taken = len(bench.tones)
        silent = bool(bench.tones) and bench.tones[-1].hz == 0 and now_ms - bench.tones[-1].t_ms >= REST_MS
        if self.notes and silent:
            self.understand(bench)
            self.notes = []

    def understand(self, bench):
        """A first note that stays and others above or below: the one cue that begins so. Higher is hotter."""
        if self.notes[0] != sounds.GUIDE_ON[0][0] or not 2 <= len(self.notes) <= 3:
            return
        self.cues += 1
        size = TURN_MUCH if len(self.notes) == 3 else TURN
        direction = (self.notes[1] < self.notes[0]) - (self.notes[1] > self.notes[0])
        vessel = bench.kitchen.vessel
        vessel.flame = min(MOST_FLAME, max(LEAST_FLAME, vessel.flame + direction * size))


def roast(scenario, guide, seed, listens=True):
    """The bench after a roast, and the listener."""
    bench = RoastBench(scenario, compile_plan(document(guide)), seed, (LOAD, OUT))
    listener = Listener()
    bench.run(listener.step if listens else None)
    return bench, listener


def in_beans(bench):
    """[(seconds from beans in, degC of the probe's tip)] from beans in to beans out."""
    in_ms, out_ms = bench.session.roast.mark_ms[0], bench.session.roast.mark_ms[2]
    assert in_ms > 0
    # A roast that stalls never comes out; the guide ends all the same.
    last_ms = out_ms if out_ms > 0 else bench.truth[-1][0]
    return [((t_ms - in_ms) / 1000, tip_c) for t_ms, tip_c in bench.truth if in_ms <= t_ms <= last_ms]


@pytest.fixture(scope="module")
def guide():
    """What the beans did on a good day, a point every half minute from two minutes on."""
    bench, _ = roast(day(1.0), None, 1, listens=False)
    course = in_beans(bench)
    points = [
        [second, round(min(course, key=lambda point: abs(point[0] - second))[1], 1)]
        for second in range(120, int(course[-1][0]), 30)
    ]
    assert 8 <= len(points) <= 40
    return points


def drift_c(bench, guide):
    """(mean, largest) distance between the probe and the guide in degC, from the guide's first point on."""
    plan = compile_plan(document(guide))
    away = []
    for t_s, tip_c in in_beans(bench):
        wanted = plan.guide.at(round(t_s * 1000))
        if wanted > 0:
            away.append(abs(tip_c - wanted / 100))
    assert len(away) > 1000
    return sum(away) / len(away), max(away)


DAYS = {
    "weak gas": day(0.85),
    "strong gas": day(1.15),
    "wind and cold": day(1.0, wind=1.3, air_c=5.0),
    "a heavier load": day(1.0, load=1.1),
    "a lighter load": day(1.0, load=0.9),
}


def test_by_ear_the_roast_follows_the_guide(guide):
    followed, drifted = {}, {}
    for name, scenario in DAYS.items():
        by_ear, listener = roast(scenario, guide, 7)
        without, deaf = roast(scenario, None, 7)
        assert listener.cues > 3
        assert deaf.cues == 0, "the same person took another sound for the guide"
        followed[name], _ = drift_c(by_ear, guide)
        drifted[name], _ = drift_c(without, guide)
        print(f"{name}: {followed[name]:.1f} degC with the guide, {drifted[name]:.1f} without, {listener.cues} cues")
        assert followed[name] <= 5
        assert followed[name] < drifted[name]
    # docs/sounds.md says both figures.
    with_guide, without_guide = (sum(found.values()) / len(DAYS) for found in (followed, drifted))
    print(f"mean of the days: {with_guide:.1f} degC with the guide, {without_guide:.1f} without")
    assert with_guide < 0.5 * without_guide


def test_on_the_same_day_the_guide_hardly_speaks(guide):
    bench, listener = roast(day(1.0), guide, 3)
    assert drift_c(bench, guide)[0] < 2
    assert bench.session.stage == stages.IDLE
    assert math.isfinite(drift_c(bench, guide)[1])
    assert listener.cues <= 2
