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
        # The sample that is being looked at.
        self._t_ms = 0
        self._centi = 0
        self._rate_ready = False
        self._rate_centi_per_min = 0
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
        self._t_ms = t_ms
        self._centi = filtered_centi
        self._rate_ready = rate_ready
        self._rate_centi_per_min = rate_centi_per_min
        if roast.stage != self._stage:
            self._stage = roast.stage
            self._forecast.reset()
        if self._looks_ahead:
            self._forecast.add(t_ms, filtered_centi)
        self._look_at_all(roast)

    def _look_at_all(self, roast) -> None:
        for index in range(len(self._done)):
            if not self._done[index]:
                self._look(index, roast)

    def _look(self, index: int, roast) -> None:
        milestone = self._plan.milestones[index]
        if not _belongs(milestone, roast):
            self._above[index] = 0
            self._since_ms[index] = NO_TIME
        elif self._is_due(index, milestone, roast):
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

    def _is_due(self, index: int, milestone, roast) -> bool:
        trigger = milestone.trigger
        if trigger == plans.FALLS_TO:
            return self._has_fallen(index, milestone.value)
        if trigger == plans.AFTER:
            return self._has_passed(milestone, roast)
        if trigger == plans.SHARE:
            return self._share_reached(milestone, roast, self._t_ms)
        # Just after beans in the probe still shows the pan, and falls: only past the turning point does anything rise.
        rising_part = roast.stage != stages.ROASTING or roast.turned
        if trigger == plans.RISES_TO:
            return rising_part and self._centi >= milestone.value
        if trigger == plans.AHEAD:
            return rising_part and self._is_foretold(index, milestone)
        return self._rate_has_held(index, milestone, rising_part)

    def _has_fallen(self, index: int, to_centi: int) -> bool:
        if self._centi > to_centi:
            self._above[index] = 1
            return False
        return self._above[index] == 1

    def _has_passed(self, milestone, roast) -> bool:
        since_ms = 0 if milestone.value_2 == plans.NOT_WAITING else roast.mark_ms[milestone.value_2]
        return since_ms >= 0 and self._t_ms - since_ms >= milestone.value

    def _share_reached(self, milestone, roast, t_ms: int) -> bool:
        crack_ms = roast.mark_ms[self._plan.first_crack]
        in_ms = roast.mark_ms[0]
        return (
            in_ms >= 0 and crack_ms >= 0 and t_ms > in_ms and (t_ms - crack_ms) * 100 >= milestone.value * (t_ms - in_ms)
        )

    def _is_foretold(self, index: int, milestone) -> bool:
        if self._centi >= milestone.value:
            self._done[index] = 1  # there already: a forecast would come too late to mean anything
            return False
        forecast = self._forecast
        holds = forecast.rising and forecast.centi(milestone.value_2 + AHEAD_LATE_MS) >= milestone.value
        return self._has_held(index, holds, AHEAD_HOLDS_MS)

    def _rate_has_held(self, index: int, milestone, rising_part: bool) -> bool:
        if milestone.trigger == plans.RATE_BELOW:
            holds = self._rate_centi_per_min <= milestone.value
        else:
            holds = self._rate_centi_per_min >= milestone.value
        return self._has_held(index, self._rate_ready and rising_part and holds, milestone.value_2)

    def _has_held(self, index: int, holds: bool, for_ms: int) -> bool:
        if not holds:
            self._since_ms[index] = NO_TIME
            return False
        if self._since_ms[index] == NO_TIME:
            self._since_ms[index] = self._t_ms
        return self._t_ms - self._since_ms[index] >= for_ms


def _belongs(milestone, roast) -> bool:
    if milestone.waits_for != plans.NOT_WAITING and roast.mark_ms[milestone.waits_for] < 0:
        return False
    if milestone.stage == stages.ANY:
        return roast.running
    return milestone.stage == roast.stage
