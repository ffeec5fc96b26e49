"""What a sample, a press or a message from the link sets off: cutoff, relay, stage, milestones, sounds and the record.

Knows no hardware: the relay, the piezo and the log are given. `on_sample` is the path from reading to relay and allocates
nothing until the relay has been set.
"""

from . import cutoff as cutoffs
from . import events, faults, lag, notices, player, roast, signal, sounds, stages, trips
from .event_ring import EventRing
from .guide import GuideVoice
from .left_on import LeftOn
from .milestones import MilestoneWatch
from .pace import Pace
from .ticks import ticks_diff

# A trip is recorded for this long, then the log is closed: what the pan does afterwards is nobody's roast.
LONGEST_AFTER_TRIP_MS = 30 * 60000
REMINDER_EVERY_MS = 20000
# "Beans out" taken back within this time goes on heating; later it is the record that is mended, not the roast.
HEAT_AGAIN_MS = 20000
# Less than one long roast: better known before the beans are in.
ENOUGH_MINUTES = 30
RECORD_AGAIN_MS = 5000
# A flash write holds the loop for tens of milliseconds: it is done while the piezo stays as it is for at least this long, so
# that no tone begins or ends late. The flash does not wait for ever: an alarm never pauses, and the log's buffer is bounded.
FLASH_NEEDS_MS = 100
FLASH_WAITS_MS = 3000


class Session:
    """`board` gives relay(closed) and ticks; `log` is a Logbook; `head()` makes the head of a new log."""

    def __init__(self, set_relay, tone_output, log, head, plan, record, rest, room=None) -> None:
        self._set_relay = set_relay
        self._log = log
        self._head = head
        self._record = record
        self._rest = rest
        self._room = room
        self._short_of_room = False
        self.plan = plan
        self.player = player.Player(tone_output, self._milestone_lost)
        self.voice = GuideVoice(plan.guide)
        self.pace = Pace(plan.pace_ms)
        self.left_on = LeftOn()
        self.cutoff = cutoffs.Cutoff()
        self.filter = signal.SpikeFilter()
        self.rate = signal.RateOfRise(signal.RATE_WINDOW_MS)
        self.lag = lag.LagCompensator()
        self.events = EventRing()
        self.roast = roast.Roast(plan, self)
        self.milestones = MilestoneWatch(plan)
        self.sample = cutoffs.Sample()
        self.relay_closed = False
        self.relay_allowed = False  # by the start, until a trip, an OUTPut OFF or the end
        self.log_number = 0
        self.log_failed = False
        self._locked_open = False  # since a trip, until a new start
        self.sampled = False
        self.measured_centi = 0
        self.probe_trusted = True  # the amplifier is known to be the one in the settings
        self._settings_lag_ms = 0
        self._relay_since_ms = 0
        self._heated_ms = 0
        self._record_refused = False
        self._record_tried_ms = 0
        self._acknowledged = False
        self._reminded_ms = 0
        self._told_welded = False
        self.beans_to_tip_out = False  # since a trip that left hot beans in a popper
        self._flash_waits = False
        self._flash_due_ms = 0
        self._was_fault = faults.NONE
        self._log_open = False
        self._take_limits()
        self._take_lag()

    @property
    def stage(self) -> int:
        """The stage as people see it: a trip stands before everything else."""
        return stages.TRIPPED if self.cutoff.reason != trips.NONE else self.roast.stage

    def _take_limits(self) -> None:
        self.cutoff.limit_centi = self.plan.limit_centi
        self.cutoff.longest_ms = self.plan.longest_roast_ms
        self.cutoff.longest_heating_ms = self.plan.longest_heating_ms

    def set_plan(self, plan) -> bool:
        """Takes another plan; refused while a roast runs, so that its limits and marks stay what they were."""
        if self.roast.running:
            return False
        self.plan = plan
        self.roast.set_plan(plan)
        self.milestones.set_plan(plan)
        self.voice = GuideVoice(plan.guide)
        self.pace.set_beats(plan.pace_ms)
        self._take_limits()
        self._take_lag()
        return True

    def take_settings(self, settings) -> bool:
        """Takes rate window and probe lag, and forgets the samples before; refused while a roast runs."""
        if self.roast.running:
            return False
        self.filter.reset()
        self.rate = signal.RateOfRise(settings.rate_window_ms)
        self._settings_lag_ms = settings.probe_lag_ms
        self._take_lag()
        if self._room is not None:
            self._room.may_drop = settings.drop_confirmed
        return True

    def _take_lag(self) -> None:
        """The plan's lag where it names one, be it 0; else that of the settings."""
        plan_ms = self.plan.probe_lag_ms
        self.lag = lag.LagCompensator(self._settings_lag_ms if plan_ms < 0 else plan_ms)

    # The path from reading to relay.

    def on_sample(self, reading, now_ms: int) -> None:
        sample = self.sample
        sample.fault = reading.fault
        self.sampled = True
        if sample.fault == faults.NONE:
            self.measured_centi = reading.temperature_centi
            sample.temperature_centi = reading.temperature_centi
            sample.filtered_centi = self.filter.add(reading.temperature_centi)
            # The higher of measured and compensated meets the limit. Below it the measured one stands, because a frozen or
            # jumping reading shows only there: the slope would blur it.
            ahead_centi = self.lag.add(now_ms, sample.filtered_centi)
            if ahead_centi > reading.temperature_centi and ahead_centi >= self.cutoff.limit_centi:
                sample.temperature_centi = ahead_centi
        sample.cold_centi = reading.cold_centi
        sample.stage = self.roast.stage
        sample.stage_ms = ticks_diff(now_ms, self.roast.stage_since_ms)
        if self.roast.heating_stage:
            # Preheat and roast together, or "beans in" taken back and made again would count from zero each time.
            sample.stage_ms = max(sample.stage_ms, self.roast.t_ms(now_ms) - self.cutoff.longest_ms)
        sample.relay_closed = self.relay_closed
        sample.heater_plan = self.plan.heater_on_relay
        # A moment off is no rest: what the heater has heated in this roast adds up.
        sample.heating_ms = self._heated_ms + ticks_diff(now_ms, self._relay_since_ms) if self.relay_closed else 0
        before = self.cutoff.reason
        if self.cutoff.decide(sample, now_ms) != trips.NONE:
            self.relay_allowed = False
            self._locked_open = True
        self._apply_relay(now_ms)
        if before == trips.NONE and self.cutoff.reason != trips.NONE:
            self._tripped(now_ms)
        self._follow(sample.fault, now_ms)

    def _apply_relay(self, now_ms: int) -> None:
        closed = self.relay_allowed and self.probe_trusted and self.plan.heater_on_relay and self.roast.heating_stage
        # Written every time, not only on a change: should the pin ever differ from what is believed, it is set right here.
        self._set_relay(closed)
        if closed != self.relay_closed:
            self.relay_closed = closed
            if not closed:
                self._heated_ms += ticks_diff(now_ms, self._relay_since_ms)
                self._rest.heated(now_ms)
            self._relay_since_ms = now_ms
            self.event(self.roast.t_ms(now_ms), events.RELAY, 1 if closed else 0, 0, 0)

    # The rest of a sample's work: record, curve, milestones.

    def _follow(self, fault: int, now_ms: int) -> None:
        self._rest.step(self.plan.rest_ms, now_ms)
        if not self.roast.running:
            self._alarm_watch(now_ms)
            if fault == faults.NONE:
                self.rate.add(now_ms, self.sample.filtered_centi)
            return
        t_ms = self.roast.t_ms(now_ms)
        if fault != self._was_fault:
            self._was_fault = fault
            self.event(t_ms, events.FAULT, fault, 0, 0)
        if fault == faults.NONE:
            self._log.sample(t_ms, self.measured_centi, self.sample.cold_centi)
            self._follow_curve(t_ms, now_ms)
        else:
            self._log.fault(t_ms, fault)
        # With a pulled probe too: many pull it as soon as the beans are out.
        if self.roast.cooled_too_long(now_ms):
            self._end(events.TIMED_OUT, now_ms)
        elif self.roast.stage == stages.COOLING and (
            fault != faults.NONE or ticks_diff(now_ms, self.roast.stage_since_ms) > HEAT_AGAIN_MS
        ):
            self.relay_allowed = False
        self._alarm_watch(now_ms)

    def _follow_curve(self, t_ms: int, now_ms: int) -> None:
        self.rate.add(now_ms, self.sample.filtered_centi)
        stage_before = self.roast.stage
        if self.roast.step(now_ms, self.sample.filtered_centi) >= 0:
            self.player.play(sounds.FOUND, player.ANSWER, now_ms)
        if self.roast.stage != stage_before:
            self._stage_changed(now_ms)
        if self.cutoff.reason == trips.NONE:
            self.milestones.step(self.roast, t_ms, self.lag.compensated_centi, self.rate.ready, self.rate.centi_per_min)
            self._sound_milestones(t_ms, now_ms)
            self._sound_guide(t_ms, now_ms)
        if self.roast.cooled(now_ms, self.sample.filtered_centi):
            self.player.play(sounds.COOL, player.MILESTONE, now_ms)
            self._end(events.DONE, now_ms)

    def _sound_milestones(self, t_ms: int, now_ms: int) -> None:
        index = self.milestones.take()
        while index >= 0:
            self._sound_milestone(index, t_ms, now_ms)
            index = self.milestones.take()

    def _sound_milestone(self, index: int, t_ms: int, now_ms: int) -> None:
        milestone = self.plan.milestones[index]
        level = player.URGENT if milestone.urgent else player.MILESTONE
        taken = self.player.play(milestone.tones, level, now_ms, index)
        self.event(t_ms, events.MILESTONE, index, events.SOUNDED if taken else events.MISSED, 0)

    def _milestone_lost(self, index: int, now_ms: int) -> None:
        """It was taken and recorded, and then could not sound: what the log said last is what is true."""
        if index != player.NO_TAG:
            self.event(self.roast.t_ms(now_ms), events.MILESTONE, index, events.MISSED, 0)

    def _sound_guide(self, t_ms: int, now_ms: int) -> None:
        # Until the probe shows the beans and not the pan any more, there is nothing to compare.
        if self.roast.stage != stages.ROASTING or not self.roast.turned:
            return
        in_ms = t_ms - self.roast.mark_ms[0]
        self.voice.add(in_ms, self.lag.compensated_centi)
        if self.player.free:
            tones = self.voice.step(in_ms)
            if len(tones):
                self.player.play(tones, player.MILESTONE, now_ms)

    def step_sounds(self, now_ms: int) -> None:
        """Every pass: the beat of this stage, and the reminder of a board that was left on."""
        if self.cutoff.reason != trips.NONE:
            return
        if self.roast.running:
            if self.pace.due(self.roast.stage, now_ms):
                self.player.play(sounds.TICK, player.TICK, now_ms)
        elif self.left_on.due(now_ms):
            self.player.play(sounds.LEFT_ON, player.MILESTONE, now_ms)

    def _stage_changed(self, now_ms: int) -> None:
        # Beans in makes a new curve: what the pan did before says nothing of how fast the beans rise.
        if self.roast.stage == stages.ROASTING:
            self.rate.reset()
            self.voice.begin()
        elif self.roast.stage == stages.COOLING and self.cutoff.reason == trips.NONE:
            # From here on a power cut is no danger: nobody pulls a plug in a roast, many do while the beans cool.
            self._record.quiet()
        self._apply_relay(now_ms)

    # Trips.

    def _tripped(self, now_ms: int) -> None:
        self._acknowledged = False
        self._told_welded = False
        self._record.tripped(self.cutoff.reason, self.cutoff.reading_centi, self.cutoff.limit_centi)
        if self.roast.running:
            self.event(
                self.roast.t_ms(now_ms), events.TRIP, self.cutoff.reason, self.cutoff.reading_centi, self.cutoff.limit_centi
            )
        self.beans_to_tip_out = self.plan.dump_after_trip and (
            self.roast.stage == stages.ROASTING or self.cutoff.reason == trips.RESET_IN_ROAST
        )
        tones = sounds.ALARM_DUMP if self.beans_to_tip_out else sounds.ALARM
        self.player.play(tones, player.ALARM, now_ms, player.NO_TAG, True)

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
        if self.roast.running and ticks_diff(now_ms, self.cutoff.at_ms) >= LONGEST_AFTER_TRIP_MS:
            self._end(events.TIMED_OUT, now_ms)

    def come_back_tripped(self, reason: int, reading_centi: int, limit_centi: int, now_ms: int) -> None:
        """At power-on: the trip that a power cut must not clear."""
        self.cutoff.trip(reason, reading_centi, now_ms)
        self.cutoff.trip_limit_centi = limit_centi if limit_centi > 0 else self.cutoff.limit_centi
        self._locked_open = True
        self._tripped(now_ms)

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
        if self.roast.heating_stage:
            self._record.heating(self.log_number)
        else:
            self._record.quiet()
        if self.roast.running:
            self.event(self.roast.t_ms(now_ms), events.CLEARED, 0, 0, 0)
            if reason == trips.LONGEST_ROAST or reason == trips.LONGEST_HEATING:
                # Time does not run backwards: that roast is over.
                self._end(events.TIMED_OUT, now_ms)
        return True

    # What people do.

    def why_not_start(self, now_ms: int) -> str:
        """Why a start is refused, in words; "" when it is not."""
        if self.roast.running:
            return "a roast runs already"
        if self.cutoff.reason != trips.NONE:
            return "the cutoff has tripped: " + trips.NAMES[self.cutoff.reason]
        if not self.sampled:
            return "the probe has not been read yet; try again in a second"
        if self.sample.fault != faults.NONE:
            return "the probe is faulty: " + faults.NAMES[self.sample.fault]
        if self.plan.heater_on_relay and not self.probe_trusted:
            return "no heater on the relay before the amplifier is known: check its settings, or try again in a second"
        left_ms = self._rest.left_ms(self.plan.rest_ms, now_ms) if self.plan.heater_on_relay else 0
        if left_ms:
            return "the popper must rest for %d more minutes" % (left_ms // 60000 + 1)
        return ""

    def start(self, now_ms: int) -> bool:
        """Starts a roast with the plan on the board; False, and nothing changes, when `why_not_start` has words."""
        if self.why_not_start(now_ms):
            return False
        if self._room is not None:
            self._room.make_room(ENOUGH_MINUTES)
        self.log_number = self._log.next_number()
        opened = self._log.open(self.log_number, self._head(self.log_number))
        # A log that cannot be written yet is recorded all the same, and tried again.
        self._log_open = opened or self._log.recording
        self.cutoff.forget()
        self.rate.reset()
        self.milestones.begin()
        self.left_on.roast_begins()
        self._was_fault = faults.NONE
        self.relay_allowed = True
        self._locked_open = False
        # On flash before the heater is on: whatever cuts the power from here on leaves a trace.
        self._heated_ms = 0
        self._record.heating(self.log_number)
        self._save_record(now_ms)
        self.roast.start(now_ms)
        self._apply_relay(now_ms)
        self._log_told(opened, now_ms)
        left = self._log.minutes_left() if self._room is None else self._room.minutes_in_reach()
        if left < ENOUGH_MINUTES:
            self._notice(notices.FLASH_NEARLY_FULL, now_ms)
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
            if self.roast.heating_stage and self.cutoff.reason == trips.NONE:
                self._record.heating(self.log_number)
            self._apply_relay(now_ms)
        return index

    def relay_off(self, now_ms: int) -> None:
        self.relay_allowed = False
        self._apply_relay(now_ms)

    def relay_on(self, now_ms: int) -> bool:
        """Closes the relay again in a roast whose plan heats by it; False where that is not so."""
        if not self.plan.heater_on_relay or not self.roast.heating_stage or self._locked_open or not self.probe_trusted:
            return False
        self.relay_allowed = True
        self._apply_relay(now_ms)
        return True

    def _end(self, reason: int, now_ms: int) -> None:
        self.relay_allowed = False
        t_ms = self.roast.t_ms(now_ms)
        self.roast.stop(now_ms)
        self.left_on.roast_ends(now_ms)
        self._apply_relay(now_ms)
        if self.cutoff.reason == trips.NONE:
            self._record.quiet()
        if self._log_open:
            self._log.close(t_ms, reason)
            self._log_open = False

    # The record: the log on flash, and the ring for who listens on the link.

    def event(self, t_ms: int, kind: int, a: int, b: int, c: int) -> None:
        if self._log_open:
            self._log.event(t_ms, kind, a, b, c)
        self.events.add(t_ms, kind, a, b, c)

    def _flash_may_write(self, now_ms: int) -> bool:
        if self.player.steady_ms(now_ms) >= FLASH_NEEDS_MS:
            self._flash_waits = False
            return True
        if not self._flash_waits:
            if self._rest.save_due or self._short_of_room or self._log.due:
                self._flash_waits = True
                self._flash_due_ms = now_ms
            return False
        if ticks_diff(now_ms, self._flash_due_ms) < FLASH_WAITS_MS:
            return False
        self._flash_waits = False
        return True

    def step_flash(self, now_ms: int) -> None:
        """At most one bounded flash write, between two tones where that can be."""
        if self._record.save_due and self._record_may_be_tried(now_ms):
            self._save_record(now_ms)  # what a power cut must not lose waits for nothing
            return
        if not self._flash_may_write(now_ms):
            return
        if self._rest.save_due:
            self._rest.save()
        elif self._short_of_room:
            self._short_of_room = False
            if not self._room.drop_oldest():
                self._log_told(False, now_ms)
        elif self._log.due:
            written = self._log.seal()
            if not written and self._room is not None and self._room.may_drop and self._log.flash_full:
                # One of the roasts that are elsewhere makes room in the next pass, and the write is tried again.
                self._short_of_room = True
            else:
                self._log_told(written, now_ms)

    def _save_record(self, now_ms: int) -> None:
        self._record_refused = not self._record.save()
        self._record_tried_ms = now_ms

    def _record_may_be_tried(self, now_ms: int) -> bool:
        # A flash that refuses is asked again now and then: each attempt may hold the loop.
        return not self._record_refused or ticks_diff(now_ms, self._record_tried_ms) >= RECORD_AGAIN_MS

    def _log_told(self, written: bool, now_ms: int) -> None:
        """A log that cannot be written is told and stops nothing: losing the record must not ruin the roast."""
        if not written and not self.log_failed:
            self._notice(notices.LOG_FAILS, now_ms)
        self.log_failed = not written

    def look_at_room(self, now_ms: int) -> None:
        """At power-on, before a roast exists: says when less than a long roast fits."""
        if self._room is not None and self._room.minutes_in_reach() < ENOUGH_MINUTES and self.cutoff.reason == trips.NONE:
            self.player.play(sounds.NOTICE, player.MILESTONE, now_ms)
            self.events.add(0, events.NOTICE, notices.FLASH_NEARLY_FULL, 0, 0)

    def _notice(self, number: int, now_ms: int) -> None:
        self.player.play(sounds.NOTICE, player.MILESTONE, now_ms)
        self.event(self.roast.t_ms(now_ms), events.NOTICE, number, 0, 0)
