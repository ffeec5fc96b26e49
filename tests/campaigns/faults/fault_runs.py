"""One roast, one fault, and how long the relay took; and the roasts from which those begin."""

import random
from dataclasses import dataclass, field
from typing import Any

import bench_flash
import fault_kinds
import good_roast
import serial_loads
import snapshots
from bench_board import Bench, WatchdogReset
from fault_kinds import COOLING, EARLY, HEATED, LATE, PREHEAT

from panchime_fw import cutoff, stages, trips

HEATED_METHODS = ("hot-air popper", "skillet, heater on the relay", "crank popper, heater on the relay")
EARLY_MS = cutoff.NOT_WARMING_MS
STALLS_MS = (0, 100, 400)
LONGEST_RUN_MS = 30 * 60000
BETWEEN_SNAPSHOTS_MS = {PREHEAT: 12000, EARLY: 8000, LATE: 20000, COOLING: 9000}
# What somebody may do who does not want to believe it.
ATTEMPTS = (b"OUTP ON\n", b"PROG:STAT RUN\n", b"MARK:UNDO\n", b"*RST\n", b'MARK "beans out"\n', b"OUTP 1;:PROG:STAT RUN\n")
PRESSES = ("short", "double")
FALSE_TRIP = "tripped before the fault: "
MOVED_ON = "moved on"  # the stage was over before the fault came: another moment is taken


@dataclass
class Base:
    """Moments of one good roast, by stage."""

    method: str
    day: str
    seed: int
    moments: dict[str, list[bytes]] = field(default_factory=dict)
    false_trip: str = ""


@dataclass
class Outcome:
    """What came of one fault. `from_shown_ms` is None when the relay never opened."""

    kind: str
    stage: str
    load: str
    stall_ms: int
    seed: int
    allowed_ms: int
    from_shown_ms: int | None
    from_fault_ms: int | None
    caught_by: str
    problem: str = ""
    watched: bool = True


def stage_now(bench: Bench) -> str | None:
    roast = bench.session.roast
    if roast.stage == stages.PREHEAT:
        return PREHEAT
    if roast.stage == stages.COOLING:
        return COOLING
    if roast.stage == stages.ROASTING:
        since_ms = (bench.board.ticks_ms() - roast.stage_since_ms) & ((1 << 30) - 1)
        return EARLY if since_ms < EARLY_MS else LATE
    return None


def make_base(method: str, day: str, seed: int) -> Base:
    """Runs one good roast to its end and keeps moments of it, at random times."""
    chance = random.Random(f"base {method} {day} {seed}")
    lag_s = chance.choice((None, None, 8.0))
    bench = good_roast.new_bench(method, day, seed, lag_s=lag_s)
    base = Base(method, day, seed)
    next_ms = 0
    while bench.world.now_ms < LONGEST_RUN_MS:
        bench.run_to(min(LONGEST_RUN_MS, bench.world.now_ms + 500))
        stage = stage_now(bench)
        if bench.session.cutoff.reason != trips.NONE:
            base.false_trip = trips.NAMES[bench.session.cutoff.reason]
            break
        if stage is None:
            if base.moments:
                break
            continue
        if bench.world.now_ms >= next_ms and (stage == COOLING or bench.board.relay_closed):
            base.moments.setdefault(stage, []).append(snapshots.take(bench))
            next_ms = bench.world.now_ms + round(chance.expovariate(1.0 / BETWEEN_SNAPSHOTS_MS[stage]))
    return base


class Run:
    """One fault from one moment."""

    def __init__(self, moment: bytes, kind: str, stage: str, load: str, stall_ms: int, seed: int) -> None:
        self.kind, self.stage, self.load, self.stall_ms, self.seed = kind, stage, load, stall_ms, seed
        self.chance = random.Random(f"fault {seed}")
        self.bench: Bench = snapshots.restore(moment)
        bench = self.bench
        bench_flash.use(bench.flash)
        bench.flash.files[serial_loads.OLD_LOG] = bytearray(serial_loads.OLD_LOG_BYTES)
        bench.flash.on_sync.longest_ms = stall_ms
        bench.flash.on_sync.share_of_long = 0.5
        bench.board.host = serial_loads.host_of(load)
        self.opened_ms: int | None = None
        self.ended_by = ""

    def go(self) -> Outcome:
        bench = self.bench
        problem = self._lead_in()
        if problem:
            return self._outcome(None, problem)
        fault_ms = bench.world.now_ms
        if self.kind != fault_kinds.LOG_REFUSED:
            # The person does not notice either.
            bench.world.person_acts = False
            bench.world.presses = [press for press in bench.world.presses if press[0] <= fault_ms]
        stage_before = bench.session.roast.stage
        if self.kind in fault_kinds.SPECIAL:
            return self._special(fault_ms)
        try:
            watch = fault_kinds.KINDS[self.kind][0](bench, self.chance)
        except WatchdogReset:
            outcome = self._outcome(None, "")
            outcome.from_shown_ms, outcome.caught_by = 0, "watchdog"
            return outcome
        self._hear(watch)
        if self.stage == COOLING:
            return self._cooling(watch)
        end_ms = fault_ms + watch.give_up_ms
        while bench.board.relay_closed and bench.world.now_ms < end_ms and self._step():
            pass
        opened_ms = None if bench.board.relay_closed else bench.board.relay_changed_ms
        outcome = self._outcome(watch, "")
        outcome.watched = watch.watched
        if self.kind == "longest roast" and bench.session.roast.stage != stage_before:
            outcome.problem = MOVED_ON  # a mark made just before: each stage has its own bound
            return outcome
        if opened_ms is None:
            outcome.problem = f"the relay stayed closed for {watch.give_up_ms // 1000} s"
            return outcome
        outcome.from_fault_ms = opened_ms - fault_ms
        outcome.from_shown_ms = 0 if watch.shown_ms is None else max(0, opened_ms - watch.shown_ms)
        if outcome.from_shown_ms > outcome.allowed_ms:
            outcome.problem = f"late: {outcome.from_shown_ms} ms"
        elif not self.ended_by:
            outcome.problem = self._stays_open()
        return outcome

    def _lead_in(self) -> str:
        """Some seconds of the same roast under this load; nothing may happen yet."""
        bench = self.bench
        end_ms = bench.world.now_ms + self.chance.randint(0, 3000)
        while bench.world.now_ms < end_ms:
            bench.step()
            if bench.session.cutoff.reason != trips.NONE:
                return FALSE_TRIP + trips.NAMES[bench.session.cutoff.reason]
            if self.stage != COOLING and not bench.board.relay_closed:
                return MOVED_ON
        return ""

    def _step(self) -> bool:
        """One pass; False when the firmware has ended or restarted, which opens the relay."""
        try:
            self.bench.step()
        except WatchdogReset:
            self.ended_by = "watchdog"
            return False
        except Exception as error:
            self.ended_by = "main.py, " + type(error).__name__
            return False
        return True

    def _hear(self, watch: fault_kinds.Watch) -> None:
        """Lets the watch see every sample as the session gets it."""
        session = self.bench.session
        on_sample = session.on_sample

        def heard(reading: Any, now_ms: int) -> None:
            at_ms = self.bench.world.now_ms
            before_ms = watch.shown_ms
            on_sample(reading, now_ms)
            watch.see(reading, at_ms)
            if before_ms is None and watch.shown_ms is not None:
                watch.shown_ms = at_ms

        session.on_sample = heard

    def _cooling(self, watch: fault_kinds.Watch) -> Outcome:
        """The relay is open; whoever takes "beans out" back may close it, and the fault must open it again."""
        bench = self.bench
        worst_ms = 0
        closed_ms = None
        end_ms = bench.world.now_ms + 8000
        next_ms = bench.world.now_ms
        while bench.world.now_ms < end_ms and self._step():
            if bench.world.now_ms >= next_ms:
                next_ms = bench.world.now_ms + self.chance.randint(200, 1500)
                self._attempt()
            if bench.board.relay_closed and closed_ms is None:
                closed_ms = bench.world.now_ms
            if closed_ms is not None:
                until_ms = bench.world.now_ms if bench.board.relay_closed else bench.board.relay_changed_ms
                worst_ms = max(worst_ms, until_ms - closed_ms)
                if not bench.board.relay_closed:
                    closed_ms = None
        outcome = self._outcome(watch, "")
        outcome.from_shown_ms = worst_ms
        if worst_ms > watch.allowed_ms:
            outcome.problem = f"closed for {worst_ms} ms over a fault in cooling"
        return outcome

    def _attempt(self) -> None:
        bench = self.bench
        if self.chance.random() < 0.5:
            bench.board.host.to_board += self.chance.choice(ATTEMPTS)
        else:
            bench.world.press(self.chance.choice(PRESSES), bench.world.now_ms + 10)

    def _stays_open(self) -> str:
        """Nothing but clearing and a new start closes it again; and a restart does not clear."""
        bench = self.bench
        tripped = bench.session.cutoff.reason
        end_ms = bench.world.now_ms + 2500
        next_ms = bench.world.now_ms
        while bench.world.now_ms < end_ms:
            if tripped and bench.world.now_ms >= next_ms:
                next_ms = bench.world.now_ms + self.chance.randint(200, 900)
                self._attempt()
            if not self._step():
                return "" if self.ended_by == "watchdog" else self.ended_by
            if bench.board.relay_closed:
                return "the relay closed again"
        if tripped and bench.session.cutoff.reason != tripped:
            return "the trip went away"
        if tripped and self.chance.random() < 0.1:
            return self._restarts(tripped)
        return ""

    def _restarts(self, reason: int) -> str:
        """Power off and on: the trip is still there and the relay stays open whatever anybody tries."""
        bench = self.bench
        bench.power_up()
        bench.board.host = serial_loads.host_of(self.load)
        if bench.session.cutoff.reason != reason:
            return f"after a restart the reason is {bench.session.cutoff.reason}, not {reason}"
        end_ms = bench.world.now_ms + 3000
        while bench.world.now_ms < end_ms:
            if self.chance.random() < 0.01:
                self._attempt()
            bench.step()
            if bench.board.relay_closed:
                return "the relay closed after a restart"
        if bench.session.cutoff.reason != reason:
            return "the trip went away after a restart"
        return ""

    def _special(self, fault_ms: int) -> Outcome:
        bench = self.bench
        outcome = self._outcome(None, "")
        if self.kind == fault_kinds.LOG_REFUSED:
            bench.flash.refuses = True
            end_ms = fault_ms + 40000
            while bench.world.now_ms < end_ms and self._step():
                if bench.session.cutoff.reason != trips.NONE:
                    outcome.problem = "tripped: " + trips.NAMES[bench.session.cutoff.reason]
                    return outcome
            if self.ended_by:
                outcome.problem = self.ended_by
            elif not bench.session.log_failed:
                outcome.problem = "nobody was told"
            outcome.caught_by = "told, heats on"
            return outcome
        expected = trips.RESET_IN_ROAST
        if self.kind == fault_kinds.HANGS:
            fed_ms = bench.board.fed_ms
            try:
                bench.board.let_pass(self.chance.randint(6000, 60000))
                outcome.problem = "the watchdog did not come"
                return outcome
            except WatchdogReset:
                assert fed_ms is not None
                outcome.from_fault_ms = bench.board.relay_changed_ms - fault_ms
                outcome.from_shown_ms = bench.board.relay_changed_ms - fed_ms
                outcome.allowed_ms = 5000
                outcome.caught_by = "watchdog"
        else:
            outcome.from_shown_ms = outcome.from_fault_ms = 0
            outcome.caught_by = "pull-down and " + trips.NAMES[expected]
        outcome.problem = self._restarts(expected)
        return outcome

    def _outcome(self, watch: fault_kinds.Watch | None, problem: str) -> Outcome:
        session = self.bench.session
        caught_by = self.ended_by or (
            trips.NAMES[session.cutoff.reason] if session.cutoff.reason else f"stage {stages.NAMES[session.roast.stage]}"
        )
        allowed_ms = watch.allowed_ms if watch is not None else fault_kinds.FROM_SHOWN_MS
        return Outcome(self.kind, self.stage, self.load, self.stall_ms, self.seed, allowed_ms, None, None, caught_by, problem)


def stages_of(kind: str) -> tuple[str, ...]:
    return fault_kinds.KINDS[kind][1] if kind in fault_kinds.KINDS else HEATED


def all_cells() -> list[tuple[str, str, str, int]]:
    """Every kind x stage x serial load x flash stall."""
    kinds = [*fault_kinds.KINDS, *fault_kinds.SPECIAL]
    return [
        (kind, stage, load, stall_ms)
        for kind in kinds
        for stage in stages_of(kind)
        for load in serial_loads.LOADS
        for stall_ms in STALLS_MS
    ]
