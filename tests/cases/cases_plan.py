"""The plan's rules: every mistake is named with its place, every trigger becomes whole numbers."""

import json
import sys

from panchime_fw import builtin_plan, plan, stages


def document(**changes):
    found = {"name": "Test", "method": "skillet", "limit": 245}
    found.update(changes)
    return found


def with_milestone(**keys):
    item = {"label": "A", "sound": "rising"}
    item.update(keys)
    return document(milestone=[item])


def check_good(found):
    assert plan.check(found) == [], plan.check(found)
    plan.compile_plan(found)


def check_fault(found, *words):
    faults = plan.check(found)
    assert len(faults) == len(words), faults
    for fault, wanted in zip(faults, words):
        assert wanted in fault, fault
    try:
        plan.compile_plan(found)
    except ValueError as error:
        assert str(error) == faults[0] + (" (and %d more)" % (len(faults) - 1) if len(faults) > 1 else "")
        return
    raise AssertionError("compiled all the same")


def check_milestone(keys, trigger, value, value_2, stage):
    found = with_milestone(**keys)
    assert plan.check(found) == [], plan.check(found)
    milestone = plan.compile_plan(found).milestones[0]
    assert (milestone.trigger, milestone.value, milestone.value_2) == (trigger, value, value_2), (
        milestone.trigger, milestone.value, milestone.value_2)
    assert milestone.stage == stage, milestone.stage


def check_limit(value, unit, centi):
    assert plan.compile_plan(document(limit=value, unit=unit)).limit_centi == centi


def check_bounds(key, value, good):
    assert (plan.check(document(**{key: value})) == []) == good, plan.check(document(**{key: value}))


def check_let_go():
    """On MicroPython, where it counts; the plan goes on without the rooms that made it."""
    was_there = "panchime_fw.plan_rules" in sys.modules
    made = plan.compile_plan(document())
    try:
        plan.compile_plan({})
    except ValueError:
        pass
    assert made.limit_centi > 0 and made.guide is not None
    if sys.implementation.name == "micropython" and not was_there:
        assert "panchime_fw.plan_rules" not in sys.modules
        assert not hasattr(sys.modules["panchime_fw"], "plan_rules")


def check_survives_json(found):
    back = json.loads(json.dumps(found))
    assert plan.check(back) == []
    assert plan.compile_plan(back).limit_centi == plan.compile_plan(found).limit_centi


def check_guide_points(unit, points, band, places, band_centi):
    found = document(unit=unit, limit=245 if unit == "C" else 473, guide=points)
    if band is not None:
        found["guide_band"] = band
    guide = plan.compile_plan(found).guide
    assert guide.band_centi == band_centi, guide.band_centi
    assert guide.every_ms == 0
    for t_ms, centi in places:
        assert guide.at(t_ms) == centi, (t_ms, guide.at(t_ms))


def check_pace(items, every_ms):
    assert plan.compile_plan(document(pace=items)).pace_ms == every_ms


BROKEN = document(
    limit=True,
    zz=1,
    milestone=[
        {"label": "First crack", "rises_to": 412, "sound": "beeps 7"},
        {"after_s": 3},
    ],
)

def check_lag(found, lag_ms):
    assert plan.compile_plan(found).probe_lag_ms == lag_ms, plan.compile_plan(found).probe_lag_ms


TABLES = {
    "probe lag": (
        check_lag,
        [(document(), -1), (document(probe_lag_s=0), 0), (document(probe_lag_s=8.5), 8500), (document(probe_lag_s=60), 60000)],
    ),
    "good": (
        check_good,
        [
            (document(),),
            (builtin_plan.DOCUMENT,),
            (with_milestone(rises_to=196, stage="roasting"),),
            (with_milestone(rises_to=196.5, waits_for="yellow"),),
            (document(marks=["beans in", "beans out"], heater_on_relay=True, loads="cold", note=""),),
            (document(name="Röstung nach Mitternacht"),),
            (document(probe_lag_s=8.5),),
            (document(guide=[[0, 95], [240, 150.5], [480, 196]], guide_every_s=30, guide_band=4),),
            (document(guide=[[k * 60, 90 + 3 * k] for k in range(40)]),),
            (document(pace=[{"stage": "roasting", "every_s": 2}, {"stage": "cooling", "every_s": 0.5}]),),
            (document(sound_speed=0.8, sound_pitch="low", milestone=[
                {"label": "A", "sound": "first crack", "rises_to": 196, "urgent": True}]),),
        ],
    ),
    "mistakes": (
        check_fault,
        [
            ({}, "name is missing", "method is missing", "limit is missing"),
            ([], "must be a table"),
            (document(unit="K"), "unit 'K' is not known"),
            (document(limit=412), "limit 412 C is above the board's ceiling of 275 C"),
            (document(limit=600, unit="F"), "limit 600 F is above the board's ceiling of 527 F"),
            (document(limit="245"), "limit must be a temperature"),
            (document(limit=float("nan")), "limit must be a temperature"),
            (document(limit=float("inf")), "limit must be a temperature"),
            (document(limit=True), "limit must be a temperature"),
            (document(heater_on_relay=1), "heater_on_relay must be true or false"),
            (document(method="microwave"), "method 'microwave' is not known"),
            (document(name=""), "name must be 1 to 60"),
            (document(name="bell\x07"), "name must be 1 to 60 printable"),
            (document(probe_lag_s="8"), "probe_lag_s must be a number of seconds"),
            (document(probe_lag_s=61), "probe_lag_s 61 must be 0 to 60 seconds"),
            (document(marks=["beans in"]), "there must be 2 to 8"),
            (document(marks=["yellow", "beans out"]), "the first must be 'beans in'"),
            (document(marks=["beans in", "yellow", "yellow", "beans out"]), "stands twice"),
            (document(marks="beans in"), "marks must be a list"),
            (document(marks=["beans in", "start", "beans out"]), "name the mark otherwise"),
            (document(milestone={}), "milestone must be a list"),
            (with_milestone(rises_to=412), "milestone 1 'A': rises_to 412 C is above the board's ceiling of 300 C"),
            (with_milestone(), "milestone 1 'A': needs exactly one trigger and has none"),
            (with_milestone(rises_to=1, falls_to=2), "has falls_to and rises_to"),
            (with_milestone(rises_to=100, of=3), "of does not go with rises_to"),
            (with_milestone(after_s=10), "after_s needs since beside it"),
            (with_milestone(after_s=10, since="tea"), "since 'tea' is neither 'start' nor"),
            (with_milestone(after_s=4000, since="start"), "after_s 4000 must be 0 to 3600 seconds"),
            (with_milestone(rate_below=500, for_s=10), "is more than any pan does"),
            (with_milestone(rate_below=5, for_s=0), "for_s 0 must be 1 to 300 seconds"),
            (with_milestone(ahead_s=20, of=500), "of 500 C is above the board's ceiling"),
            (with_milestone(ahead_s=1, of=196), "ahead_s 1 must be 3 to 120 seconds"),
            (with_milestone(rises_to=100, stage="idle"), "stage 'idle' is not known"),
            (with_milestone(rises_to=100, waits_for="tea"), "waits_for 'tea' is not one of"),
            (with_milestone(rises_to=100, sound="bang"), "sound 'bang' is not known"),
            (with_milestone(rises_to=100, sound=3), "sound must be words"),
            (with_milestone(rises_to=100, colour="red"), "'colour' is not a key"),
            (document(marks=["beans in", "beans out"], milestone=[
                {"label": "A", "sound": "rising", "development_share": 20}]), "needs the mark 'first crack'"),
            (document(milestone=[{"label": "A", "sound": "rising", "rises_to": 100}] * 2), "another milestone has the same"),
            (document(sound_speed=2), "sound_speed 2 must be a number from 0.6 to 1.5"),
            (document(sound_speed="fast"), "sound_speed 'fast' must be a number"),
            (document(sound_pitch="shrill"), "sound_pitch 'shrill' is not known; write one of: "),
            (with_milestone(rises_to=100, urgent=1), "urgent must be true or false"),
            (document(guide="up"), "guide must be a list of [seconds from beans in, temperature]"),
            (document(guide=[[0, 95], [60]]), "guide must be a list of [seconds"),
            (document(guide=[[0, 95], [60, True]]), "guide must be a list of [seconds"),
            (document(guide=[[0, 95]]), "guide: there must be 2 to 40 points, and there are 1"),
            (document(guide=[[k, 90] for k in range(41)]), "there are 41"),
            (document(guide=[[0, 95], [0.5, 96]]), "guide point 2: 0.5 seconds must come at least a second after"),
            (document(guide=[[60, 95], [0, 96]]), "guide point 2: 0 seconds must come at least a second after"),
            (document(guide=[[-1, 95], [60, 500]]),
             "guide point 1: time -1 must be 0 to 3600", "point 2: temperature 500 C is above"),
            (document(guide_every_s=30), "guide_every_s needs a guide beside it"),
            (document(guide_band=3), "guide_band needs a guide beside it"),
            (document(guide=[[0, 95], [60, 100]], guide_every_s=10), "guide_every_s 10 must be 20 to 300 seconds"),
            (document(guide=[[0, 95], [60, 100]], guide_band=0.5), "guide_band 0.5 must be degrees as a number, 1 to 30 C"),
            (document(pace={"stage": "roasting"}), "pace must be a list of tables"),
            (document(pace=[{"stage": "roasting"}]), "pace 1: every_s is missing"),
            (document(pace=[{"stage": "idle", "every_s": 2}]), "pace 1: stage 'idle' is not known"),
            (document(pace=[{"stage": "roasting", "every_s": 0.2}]), "pace 1: every_s 0.2 must be"),
            (document(pace=[{"stage": "roasting", "every_s": 2}] * 2), "pace 2: stage 'roasting' has a beat already"),
            (with_milestone(rises_to=100, sound="morse TTT"), "sound 'morse TTT' could be taken for a fire alarm"),
            (BROKEN, "'zz' is not a key", "limit must be", "sound 'beeps 7'", "rises_to 412 C", "label is missing",
             "sound is missing", "after_s needs since"),
        ],
    ),
    "bounds": (
        check_bounds,
        [
            ("limit", 275, True), ("limit", 275.01, False), ("limit", 40, True), ("limit", 39.9, False),
            ("longest_roast_min", 1, True), ("longest_roast_min", 60, True), ("longest_roast_min", 60.5, False),
            ("longest_roast_min", 0, False), ("cool_below", 25, True), ("cool_below", 24, False),
            ("cool_below", 100, True), ("cool_below", 101, False), ("name", "x" * 60, True), ("name", "x" * 61, False),
        ],
    ),
    "milestones in whole numbers": (
        check_milestone,
        [
            ({"rises_to": 196}, plan.RISES_TO, 19600, 0, stages.ROASTING),
            ({"falls_to": 60, "stage": "cooling"}, plan.FALLS_TO, 6000, 0, stages.COOLING),
            ({"after_s": 90, "since": "first crack"}, plan.AFTER, 90000, 2, stages.ANY),
            ({"after_s": 1.5, "since": "start"}, plan.AFTER, 1500, -1, stages.ANY),
            ({"rate_below": 5, "for_s": 20}, plan.RATE_BELOW, 500, 20000, stages.ROASTING),
            ({"rate_above": 25.5, "for_s": 5}, plan.RATE_ABOVE, 2550, 5000, stages.ROASTING),
            ({"development_share": 20}, plan.SHARE, 20, 0, stages.ROASTING),
            ({"ahead_s": 20, "of": 196}, plan.AHEAD, 19600, 20000, stages.ROASTING),
            ({"rises_to": 100, "waits_for": "yellow"}, plan.RISES_TO, 10000, 0, stages.ANY),
        ],
    ),
    "a guide in whole numbers": (
        check_guide_points,
        [
            ("C", [[0, 95], [60, 100.5]], 4, [(0, 9500), (30000, 9775), (60000, 10050)], 400),
            ("F", [[0, 203], [60, 212]], 9, [(0, 9500), (60000, 10000)], 500), ("C", [[0, 95], [60, 100]], None, [], 300),
        ],
    ),
    "beats in whole numbers": (
        check_pace, [([], (0, 0, 0, 0, 0)), ([{"stage": "roasting", "every_s": 1.5}], (0, 0, 1500, 0, 0))],
    ),
    "the limit in both units": (check_limit, [(245, "C", 24500), (473, "F", 24500), (460, "F", 23778)]),
    "what was visited is let go": (check_let_go, [()]),
    "a plan survives JSON": (check_survives_json, [(builtin_plan.DOCUMENT,), (document(limit=384.5, unit="F"),)]),
}  # fmt: skip
