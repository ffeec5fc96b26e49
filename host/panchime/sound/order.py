"""In which order a plan's sounds will come: the board's own stages and milestones, led through a made-up roast."""

from panchime_fw import plan as rules
from panchime_fw import roast, stages
from panchime_fw.milestones import MilestoneWatch

SAMPLE_MS = 250
# The made-up roast, degC and degC a minute; where the marks are made is common practice, no source.
AIR_C = 20.0
PREHEAT_C_PER_MIN = 60.0
TURNING_C = 90.0
RISE_C_PER_MIN = 12.0
COOLING_C_PER_MIN = -60.0
MARKS_C = {"yellow": 155.0, "first crack": 196.0, "second crack": 224.0}
OTHER_MARK_C = 180.0
PREHEAT_LEAST_C = 205.0


class _Nobody:
    def event(self, t_ms: int, kind: int, a: int, b: int, c: int) -> None:
        """Nobody keeps a record of a made-up roast."""


def in_order(plan: rules.Plan) -> tuple[list[int], list[int]]:
    """(indices of the milestones in the order they come, indices of those that do not come in the made-up roast)."""
    nobody = _Nobody()
    course = roast.Roast(plan, nobody)
    watch = MilestoneWatch(plan)
    order: list[int] = []
    now_ms = 0
    course.start(now_ms)
    watch.begin()

    def lead(from_c: float, to_c: float, c_per_min: float) -> None:
        nonlocal now_ms
        steps = max(1, round(abs(to_c - from_c) / abs(c_per_min) * 60000 / SAMPLE_MS))
        for step in range(1, steps + 1):
            now_ms += SAMPLE_MS
            centi = round((from_c + (to_c - from_c) * step / steps) * 100)
            make_marks(centi)
            course.step(now_ms, centi)
            watch.step(course, course.t_ms(now_ms), centi, True, round(c_per_min * 100))
            while (index := watch.take()) >= 0:
                order.append(index)

    def make_marks(centi: int) -> None:
        following = course.next_mark()
        if course.stage != stages.ROASTING or not course.turned or following < 0:
            return
        mark = plan.marks[following]
        if mark != rules.BEANS_OUT and centi >= MARKS_C.get(mark, OTHER_MARK_C) * 100:
            course.mark(following, roast.LINK, now_ms, now_ms)

    rising = [m.value / 100 for m in plan.milestones if m.trigger in (rules.RISES_TO, rules.AHEAD)]
    preheat = [m.value / 100 for m in plan.milestones if m.trigger == rules.RISES_TO and m.stage == stages.PREHEAT]
    end_c = max([value + 3 for value in rising] + [228.0])
    if plan.loads_cold:
        lead(AIR_C, TURNING_C, RISE_C_PER_MIN)
    else:
        hot_c = max([value + 3 for value in preheat] + [PREHEAT_LEAST_C])
        lead(AIR_C, hot_c, PREHEAT_C_PER_MIN)
        course.mark(0, roast.LINK, now_ms, now_ms)
        lead(hot_c, TURNING_C, COOLING_C_PER_MIN * 2)
    lead(TURNING_C, end_c, RISE_C_PER_MIN)
    course.mark(plan.last_mark, roast.LINK, now_ms, now_ms)
    lead(end_c, AIR_C + 2, COOLING_C_PER_MIN)
    return order, [index for index in range(len(plan.milestones)) if index not in order]
