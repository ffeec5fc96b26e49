"""Which milestones of the plan are due. Each is due once a roast; a mark that is taken back makes those that hung on it wait
again. Allocates nothing."""

from . import plan as plans
from . import stages
from .forecast import Forecast

# A forecast must hold this long before it is told, or noise would fire it early.
AHEAD_HOLDS_MS = 750
# What the holding, the median filter and the cut-off small rises cost in time, made good by looking further; measured over 500
# roasts (docs/sounds.md).
AHEAD_LATE_MS = 1500
NO_TIME = -1


class MilestoneWatch:
    def __init__(self, plan) -> None:
        self._forecast = Forecast()
        self._stage = stages.IDLE
        self.set_plan(plan)

    def set_plan(self, plan) -> None:
        self._plan = plan
        count = len(plan.milestones)
        self._done = bytearray(count)
        self._above = bytearray(count)
        self._since_ms = [NO_TIME] * count
        self._pending = bytearray(count)
        self._looks_ahead = False
        for milestone in plan.milestones:
            if milestone.trigger == plans.AHEAD:
                self._looks_ahead = True

    def begin(self) -> None:
        """All of them wait again, at a start."""
        for index in range(len(self._done)):
            self._wait_again(index)
        self._forecast.reset()

    def mark_taken_back(self, mark: int) -> None:
        for index in range(len(self._done)):
            milestone = self._plan.milestones[index]
            if (
                milestone.waits_for == mark
                or (milestone.trigger == plans.AFTER and milestone.value_2 == mark)
                or (milestone.trigger == plans.SHARE and mark == self._plan.first_crack)
                or (mark == 0 and milestone.stage == stages.ROASTING)
            ):
                self._wait_again(index)

    def step(self, roast, t_ms: int, filtered_centi: int, rate_ready: bool, rate_centi_per_min: int) -> None:
        """Looks at one sample. What has become due waits in `take`."""
        milestones = self._plan.milestones
        if roast.stage != self._stage:
            self._stage = roast.stage
            self._forecast.reset()
        if self._looks_ahead:
            self._forecast.add(t_ms, filtered_centi)
        for index in range(len(milestones)):
            if self._done[index]:
                continue
            milestone = milestones[index]
            if not _belongs(milestone, roast):
                self._above[index] = 0
                self._since_ms[index] = NO_TIME
                continue
            if self._is_due(index, milestone, roast, t_ms, filtered_centi, rate_ready, rate_centi_per_min):
                self._done[index] = 1
                self._pending[index] = 1

    def take(self) -> int:
        """The index of a milestone that has become due, in the plan's order, or -1."""
        for index in range(len(self._pending)):
            if self._pending[index]:
                self._pending[index] = 0
                return index
        return -1

    def next_waiting(self, roast) -> int:
        """The first milestone of the plan that is still to come in this stage, or -1."""
        for index in range(len(self._done)):
            if not self._done[index] and _belongs(self._plan.milestones[index], roast):
                return index
        return -1

    def _wait_again(self, index: int) -> None:
        self._done[index] = 0
        self._above[index] = 0
        self._pending[index] = 0
        self._since_ms[index] = NO_TIME

    def _is_due(self, index, milestone, roast, t_ms, filtered_centi, rate_ready, rate_centi_per_min) -> bool:
        trigger = milestone.trigger
        # Just after beans in the probe still shows the pan, and falls: only past the turning point does anything rise.
        rising_part = roast.stage != stages.ROASTING or roast.turned
        if trigger == plans.RISES_TO:
            return rising_part and filtered_centi >= milestone.value
        if trigger == plans.FALLS_TO:
            if filtered_centi > milestone.value:
                self._above[index] = 1
                return False
            return self._above[index] == 1
        if trigger == plans.AFTER:
            since_ms = 0 if milestone.value_2 == plans.NOT_WAITING else roast.mark_ms[milestone.value_2]
            return since_ms >= 0 and t_ms - since_ms >= milestone.value
        if trigger == plans.SHARE:
            return self._share_reached(milestone, roast, t_ms)
        if trigger == plans.AHEAD:
            if not rising_part:
                return False
            if filtered_centi >= milestone.value:
                self._done[index] = 1  # there already: a forecast would come too late to mean anything
                return False
            forecast = self._forecast
            holds = forecast.rising and forecast.centi(milestone.value_2 + AHEAD_LATE_MS) >= milestone.value
            return self._has_held(index, holds, t_ms, AHEAD_HOLDS_MS)
        if trigger == plans.RATE_BELOW:
            holds = rate_ready and rising_part and rate_centi_per_min <= milestone.value
        else:
            holds = rate_ready and rising_part and rate_centi_per_min >= milestone.value
        return self._has_held(index, holds, t_ms, milestone.value_2)

    def _share_reached(self, milestone, roast, t_ms: int) -> bool:
        crack_ms = roast.mark_ms[self._plan.first_crack]
        in_ms = roast.mark_ms[0]
        return (
            in_ms >= 0 and crack_ms >= 0 and t_ms > in_ms and (t_ms - crack_ms) * 100 >= milestone.value * (t_ms - in_ms)
        )

    def _has_held(self, index: int, holds: bool, t_ms: int, for_ms: int) -> bool:
        if not holds:
            self._since_ms[index] = NO_TIME
            return False
        if self._since_ms[index] == NO_TIME:
            self._since_ms[index] = t_ms
        return t_ms - self._since_ms[index] >= for_ms


def _belongs(milestone, roast) -> bool:
    if milestone.waits_for != plans.NOT_WAITING and roast.mark_ms[milestone.waits_for] < 0:
        return False
    if milestone.stage == stages.ANY:
        return roast.running
    return milestone.stage == roast.stage
