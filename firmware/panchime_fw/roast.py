"""The roast in progress: its stage, its marks, and what is found in the curve when nobody presses.

Times named `t_ms` are milliseconds since the roast's start, times named `now_ms` are the board's clock. Every change is told
to `sink.event(t_ms, kind, a, b, c)`, which logs it.
"""

from . import events, stages
from .finder import IN_ABOVE_CENTI, IN_FALL_CENTI, OUT_ABOVE_CENTI, OUT_AFTER_MS, OUT_FALL_CENTI, FallFinder
from .ticks import ticks_add, ticks_diff

# Where a mark comes from, as logs and the link say it.
PRESSED = events.PRESSED
FOUND = events.FOUND
LINK = events.LINK

NOT_MADE = -1
# A press this soon after a mark was found in the curve means that very mark.
CONFIRM_MS = 30000
# Past its lowest point by this much, the temperature rises: twice what a MAX31855's noise makes of a flat line.
TURNED_CENTI = 200
# Cold beans in a warm pan may cool for ever so slowly; after this the record ends.
LONGEST_COOLING_MS = 15 * 60000

# What `mark` answers.
REFUSED = 0
MADE = 1
CONFIRMED = 2


class Roast:
    def __init__(self, plan, sink) -> None:
        self._sink = sink
        self.stage = stages.IDLE
        self._in_finder = FallFinder(IN_FALL_CENTI, IN_ABOVE_CENTI)
        self._out_finder = FallFinder(OUT_FALL_CENTI, OUT_ABOVE_CENTI)
        self.set_plan(plan)

    def set_plan(self, plan) -> None:
        """Takes a plan for the next roast; only while idle."""
        self.plan = plan
        self.mark_ms = [NOT_MADE] * len(plan.marks)
        self._sources = [PRESSED] * len(plan.marks)
        self._made_at_ms = 0
        self.last_made = NOT_MADE
        self.start_ms = 0
        self.stage_since_ms = 0
        self._roasting_since_ms = 0
        self.turned = False
        self._lowest_centi = 0

    @property
    def running(self) -> bool:
        return self.stage != stages.IDLE

    @property
    def heating_stage(self) -> bool:
        return self.stage == stages.PREHEAT or self.stage == stages.ROASTING

    def t_ms(self, now_ms: int) -> int:
        return ticks_diff(now_ms, self.start_ms)

    def start(self, now_ms: int) -> None:
        self.set_plan(self.plan)
        self.start_ms = now_ms
        self._in_finder.reset()
        self._out_finder.reset()
        self._enter(stages.PREHEAT, now_ms)
        if self.plan.loads_cold:
            self._make(0, PRESSED, now_ms, now_ms)

    def stop(self, now_ms: int) -> None:
        self._enter(stages.IDLE, now_ms)

    def next_mark(self) -> int:
        """Index of the mark that the next press makes, or -1 when there is none."""
        if not self.heating_stage:
            return -1
        following = self.last_made + 1
        return following if following < len(self.mark_ms) else -1

    def mark(self, index: int, source: int, at_ms: int, now_ms: int) -> int:
        """Makes the mark with this index, which must come after the last one made. Answers REFUSED, MADE or CONFIRMED."""
        if source == PRESSED and self._confirms(now_ms):
            self._make(self.last_made, PRESSED, ticks_add(self.start_ms, self.mark_ms[self.last_made]), now_ms)
            return CONFIRMED
        if not self.heating_stage or not self.last_made < index < len(self.mark_ms):
            return REFUSED
        self._make(index, source, at_ms, now_ms)
        return MADE

    def take_back(self, now_ms: int) -> int:
        """Takes the last mark back and answers its index, or -1 when there is none to take."""
        index = self.last_made
        if index == NOT_MADE or not self.running:
            return -1
        self._sink.event(self.t_ms(now_ms), events.MARK_BACK, index, 0, 0)
        self.mark_ms[index] = NOT_MADE
        self.last_made = NOT_MADE
        for earlier in range(index):
            if self.mark_ms[earlier] != NOT_MADE:
                self.last_made = earlier
        if index == 0:
            self._enter(stages.PREHEAT, now_ms)
        elif self.stage == stages.COOLING:
            # "Beans out" can be made over the link before "beans in" ever was: then it is the preheat that goes on.
            self._enter(stages.PREHEAT if self.mark_ms[0] == NOT_MADE else stages.ROASTING, now_ms)
        self._in_finder.reset()
        self._out_finder.reset()
        return index

    def step(self, now_ms: int, filtered_centi: int) -> int:
        """Follows the curve; answers the index of a mark found in it, or -1."""
        if self.stage == stages.ROASTING:
            self._follow_turn(filtered_centi)
            if ticks_diff(now_ms, self.stage_since_ms) >= OUT_AFTER_MS and self._out_finder.step(now_ms, filtered_centi):
                self._make(self.plan.last_mark, FOUND, self._out_finder.found_ms, now_ms)
                return self.plan.last_mark
        elif self.stage == stages.PREHEAT and self._in_finder.step(now_ms, filtered_centi):
            self._make(0, FOUND, self._in_finder.found_ms, now_ms)
            return 0
        return -1

    def cooled(self, now_ms: int, filtered_centi: int) -> bool:
        return self.stage == stages.COOLING and filtered_centi <= self.plan.cool_below_centi

    def cooled_too_long(self, now_ms: int) -> bool:
        return self.stage == stages.COOLING and ticks_diff(now_ms, self.stage_since_ms) >= LONGEST_COOLING_MS

    def source(self, index: int) -> int:
        return self._sources[index]

    def _confirms(self, now_ms: int) -> bool:
        return (
            self.running
            and self.last_made != NOT_MADE
            and self._sources[self.last_made] == FOUND
            and ticks_diff(now_ms, self._made_at_ms) <= CONFIRM_MS
        )

    def _make(self, index: int, source: int, at_ms: int, now_ms: int) -> None:
        t_ms = ticks_diff(at_ms, self.start_ms)
        if t_ms < 0:
            t_ms = 0
        again = self.mark_ms[index] != NOT_MADE
        self.mark_ms[index] = t_ms
        self._sources[index] = source
        self._made_at_ms = now_ms
        self.last_made = index
        self._sink.event(self.t_ms(now_ms), events.MARK, index, source, t_ms)
        if again:
            return
        if index == 0:
            self._enter(stages.ROASTING, now_ms)
        elif index == self.plan.last_mark:
            self._enter(stages.COOLING, now_ms)

    def _enter(self, stage: int, now_ms: int) -> None:
        self.stage_since_ms = now_ms
        if stage == stages.ROASTING:
            if self.stage == stages.COOLING:
                # "Beans out" was taken back: the same roast goes on, its length counted from its own beginning.
                self.stage_since_ms = self._roasting_since_ms
            else:
                self.turned = False
                self._lowest_centi = 0x7FFF
                self._roasting_since_ms = now_ms
        self.stage = stage
        self._sink.event(self.t_ms(now_ms), events.STAGE, stage, 0, 0)

    def _follow_turn(self, filtered_centi: int) -> None:
        if filtered_centi < self._lowest_centi:
            self._lowest_centi = filtered_centi
        elif filtered_centi - self._lowest_centi >= TURNED_CENTI:
            self.turned = True
