"""What a sample, a press or a message from the link sets off: cutoff, relay, stage, milestones, sounds and the record.

Knows no hardware: the relay, the piezo and the log are given. `on_sample` is the path from reading to relay and allocates
nothing until the relay has been set.
"""

from . import cutoff as cutoffs
from . import events, faults, player, roast, signal, sounds, stages, trips
from .event_ring import EventRing
from .milestones import MilestoneWatch
from .ticks import ticks_diff

RATE_WINDOW_MS = 30000
# A trip is recorded for this long, then the log is closed: what the pan does afterwards is nobody's roast.
LONGEST_AFTER_TRIP_MS = 30 * 60000
REMINDER_EVERY_MS = 20000


class Session:
    """`board` gives relay(closed) and ticks; `log` is a Logbook; `head()` makes the head of a new log."""

    def __init__(self, set_relay, tone_output, log, head, plan) -> None:
        self._set_relay = set_relay
        self._log = log
        self._head = head
        self.plan = plan
        self.player = player.Player(tone_output)
        self.cutoff = cutoffs.Cutoff()
        self.filter = signal.SpikeFilter()
        self.rate = signal.RateOfRise(RATE_WINDOW_MS)
        self.events = EventRing()
        self.roast = roast.Roast(plan, self)
        self.milestones = MilestoneWatch(plan)
        self.sample = cutoffs.Sample()
        self.relay_closed = False
        self.relay_allowed = False  # by the start, until a trip, an OUTPut OFF or the end
        self.log_number = 0
        self.log_failed = False
        self.sampled = False
        self._relay_since_ms = 0
        self._acknowledged = False
        self._reminded_ms = 0
        self._told_welded = False
        self._was_fault = faults.NONE
        self._log_open = False
        self._take_limits()

    @property
    def stage(self) -> int:
        """The stage as people see it: a trip stands before everything else."""
        return stages.TRIPPED if self.cutoff.reason != trips.NONE else self.roast.stage

    def _take_limits(self) -> None:
        self.cutoff.limit_centi = self.plan.limit_centi
        self.cutoff.longest_ms = self.plan.longest_roast_ms

    def set_plan(self, plan) -> bool:
        """Takes another plan; refused while a roast runs, so that its limits and marks stay what they were."""
        if self.roast.running:
            return False
        self.plan = plan
        self.roast.set_plan(plan)
        self.milestones.set_plan(plan)
        self._take_limits()
        return True

    # The path from reading to relay.

    def on_sample(self, reading, now_ms: int) -> None:
        sample = self.sample
        fault = reading.fault
        sample.fault = fault
        self.sampled = True
        if fault == faults.NONE:
            sample.temperature_centi = reading.temperature_centi
            sample.filtered_centi = self.filter.add(reading.temperature_centi)
        sample.cold_centi = reading.cold_centi
        sample.stage = self.roast.stage
        sample.stage_ms = ticks_diff(now_ms, self.roast.stage_since_ms)
        sample.relay_closed = self.relay_closed
        sample.heating_ms = ticks_diff(now_ms, self._relay_since_ms) if self.relay_closed else 0
        before = self.cutoff.reason
        if self.cutoff.decide(sample, now_ms) != trips.NONE:
            self.relay_allowed = False
        self._apply_relay(now_ms)
        if before == trips.NONE and self.cutoff.reason != trips.NONE:
            self._tripped(now_ms)
        self._follow(fault, now_ms)

    def _apply_relay(self, now_ms: int) -> None:
        closed = self.relay_allowed and self.plan.heater_on_relay and self.roast.heating_stage
        # Written every time, not only on a change: should the pin ever differ from what is believed, it is set right here.
        self._set_relay(closed)
        if closed != self.relay_closed:
            self.relay_closed = closed
            self._relay_since_ms = now_ms
            self.event(self.roast.t_ms(now_ms), events.RELAY, 1 if closed else 0, 0, 0)

    # The rest of a sample's work: record, curve, milestones.

    def _follow(self, fault: int, now_ms: int) -> None:
        if not self.roast.running:
            if fault == faults.NONE:
                self.rate.add(now_ms, self.sample.filtered_centi)
            return
        t_ms = self.roast.t_ms(now_ms)
        if fault != self._was_fault:
            self._was_fault = fault
            self.event(t_ms, events.FAULT, fault, 0, 0)
        if fault == faults.NONE:
            self._log.sample(t_ms, self.sample.temperature_centi, self.sample.cold_centi)
            self._follow_curve(t_ms, now_ms)
        else:
            self._log.fault(t_ms, fault)
        self._alarm_watch(now_ms)

    def _follow_curve(self, t_ms: int, now_ms: int) -> None:
        filtered_centi = self.sample.filtered_centi
        self.rate.add(now_ms, filtered_centi)
        stage_before = self.roast.stage
        if self.roast.step(now_ms, filtered_centi) >= 0:
            self.player.play(sounds.FOUND, player.ANSWER, now_ms)
        if self.roast.stage != stage_before:
            self._stage_changed(now_ms)
        if self.cutoff.reason == trips.NONE:
            self.milestones.step(self.roast, t_ms, filtered_centi, self.rate.ready, self.rate.centi_per_min)
            self._sound_milestones(t_ms, now_ms)
        if self.roast.cooled(now_ms, filtered_centi):
            self.player.play(sounds.COOL, player.MILESTONE, now_ms)
            self._end(events.DONE, now_ms)
        elif self.roast.cooled_too_long(now_ms):
            self._end(events.TIMED_OUT, now_ms)

    def _sound_milestones(self, t_ms: int, now_ms: int) -> None:
        while True:
            index = self.milestones.take()
            if index < 0:
                return
            missed = 0 if self.player.play(self.plan.milestones[index].tones, player.MILESTONE, now_ms, index) else 1
            self.event(t_ms, events.MILESTONE, index, missed, 0)

    def _stage_changed(self, now_ms: int) -> None:
        # Beans in makes a new curve: what the pan did before says nothing of how fast the beans rise.
        if self.roast.stage == stages.ROASTING:
            self.rate.reset()
        self._apply_relay(now_ms)

    # Trips.

    def _tripped(self, now_ms: int) -> None:
        self._acknowledged = False
        self._told_welded = False
        if self.roast.running:
            self.event(
                self.roast.t_ms(now_ms), events.TRIP, self.cutoff.reason, self.cutoff.reading_centi, self.cutoff.limit_centi
            )
        self.player.play(sounds.ALARM, player.ALARM, now_ms, player.NO_TAG, True)

    def _alarm_watch(self, now_ms: int) -> None:
        if self.cutoff.reason == trips.NONE:
            return
        if self.cutoff.welded and not self._told_welded:
            self._told_welded = True
            self._acknowledged = False
            self.event(
                self.roast.t_ms(now_ms), events.TRIP, trips.RELAY_WELDED, self.sample.filtered_centi, self.cutoff.limit_centi
            )
            self.player.play(sounds.ALARM_WELDED, player.ALARM, now_ms, player.NO_TAG, True)
        if self._acknowledged and ticks_diff(now_ms, self._reminded_ms) >= REMINDER_EVERY_MS:
            self._reminded_ms = now_ms
            self.player.play(sounds.REMINDER, player.ANSWER, now_ms)
        if ticks_diff(now_ms, self.cutoff.at_ms) >= LONGEST_AFTER_TRIP_MS:
            self._end(events.TIMED_OUT, now_ms)

    def acknowledge(self, now_ms: int) -> bool:
        """Silences the alarm until the reminder; True when there was one."""
        if self.cutoff.reason == trips.NONE or self._acknowledged:
            return False
        self._acknowledged = True
        self._reminded_ms = now_ms
        self.player.stop(player.ALARM, now_ms)
        return True

    def clear_trip(self, now_ms: int) -> bool:
        """Clears the trip when its cause is gone. The relay stays open until a new start."""
        reason = self.cutoff.reason
        if not self.cutoff.clear(self.sample):
            return False
        self.player.stop(player.ALARM, now_ms)
        if self.roast.running:
            self.event(self.roast.t_ms(now_ms), events.CLEARED, 0, 0, 0)
            if reason == trips.LONGEST_ROAST or reason == trips.LONGEST_HEATING:
                # Time does not run backwards: that roast is over.
                self._end(events.TIMED_OUT, now_ms)
        return True

    # What people do.

    def start(self, now_ms: int) -> bool:
        """Starts a roast with the plan on the board; refused while one runs, while tripped or while the probe is faulty."""
        if self.roast.running or self.cutoff.reason != trips.NONE or self.sample.fault != faults.NONE:
            return False
        self.log_number = self._log.next_number()
        self._log_open = self._log.open(self.log_number, self._head(self.log_number))
        self.log_failed = not self._log_open
        self.cutoff.forget()
        self.rate.reset()
        self.milestones.begin()
        self._was_fault = faults.NONE
        self.relay_allowed = True
        self.roast.start(now_ms)
        self._apply_relay(now_ms)
        return True

    def stop(self, now_ms: int, reason: int) -> bool:
        """Ends the roast and opens the relay; False when none runs."""
        if not self.roast.running:
            return False
        self._end(reason, now_ms)
        return True

    def mark(self, index: int, source: int, at_ms: int, now_ms: int) -> int:
        stage_before = self.roast.stage
        answer = self.roast.mark(index, source, at_ms, now_ms)
        if self.roast.stage != stage_before:
            self._stage_changed(now_ms)
        return answer

    def take_back(self, now_ms: int) -> int:
        stage_before = self.roast.stage
        index = self.roast.take_back(now_ms)
        if index >= 0:
            self.milestones.mark_taken_back(index)
        if self.roast.stage != stage_before:
            self._apply_relay(now_ms)
        return index

    def relay_off(self, now_ms: int) -> None:
        self.relay_allowed = False
        self._apply_relay(now_ms)

    def relay_on(self, now_ms: int) -> bool:
        """Closes the relay again in a roast whose plan heats by it; False where that is not so."""
        if not self.plan.heater_on_relay or not self.roast.heating_stage or self.cutoff.reason != trips.NONE:
            return False
        self.relay_allowed = True
        self._apply_relay(now_ms)
        return True

    def _end(self, reason: int, now_ms: int) -> None:
        self.relay_allowed = False
        t_ms = self.roast.t_ms(now_ms)
        self.roast.stop(now_ms)
        self._apply_relay(now_ms)
        if self._log_open:
            self._log.close(t_ms, reason)
            self._log_open = False

    # The record: the log on flash, and the ring for who listens on the link.

    def event(self, t_ms: int, kind: int, a: int, b: int, c: int) -> None:
        if self._log_open:
            self._log.event(t_ms, kind, a, b, c)
        self.events.add(t_ms, kind, a, b, c)

    def step_log(self) -> None:
        """At most one bounded flash write."""
        if self._log_open and self._log.due:
            self.log_failed = not self._log.seal()
