"""One pass after another: the order of the work.

When a sample is due, a pass reads the amplifier, decides the cutoff and sets the relay, then signal, milestones and the log's
buffer. Every pass steps the button, the sounds and the light, does at most one flash write, and last one slice of serial work.
No pass waits longer than a few milliseconds of its own accord.

Sounds are kept in time: work that could run past the moment a tone begins or ends waits until that moment is over.
"""

from . import events, faults, light, player, press, roast, sounds, trips
from .ticks import ticks_add, ticks_diff

SAMPLE_MS = 250
# Later than this the old grid of sample times is given up for a new one.
GRID_LOST_MS = 1000
# A chip that lost its settings gets them again, but not in every pass.
SET_UP_AGAIN_MS = 2000
# A little more than what the board waits in a pass without work.
SOON_MS = 6
# Longer than a sample's work or a slice of serial work takes, a collection of the heap included.
WORK_MS = 24
# A sample waits no longer than this for a tone, a flash write before it included: it is what the cutoff sees by.
SAMPLE_WAITS_MS = 120


class Loop:
    def __init__(self, board, chain, session, instrument, uptime) -> None:
        self._board = board
        self._chain = chain
        self._session = session
        self._instrument = instrument
        self._uptime = uptime
        self._button = press.Button()
        now_ms = board.ticks_ms()
        self._next_sample_ms = ticks_add(now_ms, chain.decoder.FIRST_READING_MS)
        self._set_up_ms = now_ms
        self._lit = light.DARK

    def run(self) -> None:
        try:
            while True:
                self.step()
        finally:
            self._board.tone(0)

    def step(self) -> None:
        """One pass."""
        now_ms = self._board.ticks_ms()
        self._uptime.step(now_ms)
        sounds_now = self._session.player
        due_ms = ticks_diff(now_ms, self._next_sample_ms)
        sampled = due_ms >= 0 and (sounds_now.steady_ms(now_ms) >= WORK_MS or due_ms >= SAMPLE_WAITS_MS)
        if sampled:
            self._sample(now_ms)
            now_ms = self._board.ticks_ms()
        self._board.relay_step(now_ms)
        self._step_button(now_ms)
        sounds_now.step(now_ms)
        self._session.step_sounds(now_ms)
        if self._session.relay_closed:
            self._board.arm_watchdog()  # in the pass that closed it, or in the next when the link did
        self._show(now_ms)
        self._session.step_flash(now_ms)
        steady_ms = sounds_now.steady_ms(now_ms)
        busy = steady_ms >= WORK_MS and self._instrument.step()
        # Shortly before a tone begins or ends the next pass follows at once, so that it comes in time.
        if not sampled and not busy and steady_ms > SOON_MS:
            self._board.idle()

    def _sample(self, now_ms: int) -> None:
        self._next_sample_ms = ticks_add(self._next_sample_ms, SAMPLE_MS)
        if ticks_diff(now_ms, self._next_sample_ms) >= GRID_LOST_MS:
            self._next_sample_ms = ticks_add(now_ms, SAMPLE_MS)
        # Never the same conversion twice: a single spike would then look like two samples.
        while ticks_diff(self._next_sample_ms, now_ms) < self._chain.decoder.CONVERSION_MS:
            self._next_sample_ms = ticks_add(self._next_sample_ms, SAMPLE_MS)
        reading = self._chain.read()
        self._session.probe_trusted = self._chain.trusted
        self._session.on_sample(reading, now_ms)
        # Fed only here, after every check of this sample has passed: a loop that samples no more is a loop that resets,
        # and so is one whose relay pin does not obey.
        if self._board.relay_is_closed() == self._session.relay_closed:
            self._board.feed_watchdog()
        if reading.fault == faults.AMPLIFIER_RESET and ticks_diff(now_ms, self._set_up_ms) >= SET_UP_AGAIN_MS:
            self._set_up_ms = now_ms
            self._board.set_up_amplifier()
        self._instrument.refresh_conditions()

    def _show(self, now_ms: int) -> None:
        session = self._session
        colour = light.colour(session.stage, now_ms, session.player.sounding, session.player.current is sounds.REFUSED)
        if colour != self._lit:
            self._lit = colour
            self._board.led(colour)

    def _step_button(self, now_ms: int) -> None:
        self._answer_press(self._button.step(now_ms, self._board.button_down()), now_ms)

    def _answer_press(self, told: int, now_ms: int) -> None:
        if told == press.NONE:
            return
        self._session.left_on.pressed(now_ms)
        if told == press.SHORT:
            tones = self._short_press(now_ms)
        elif told == press.DOUBLE:
            tones = sounds.TAKEN_BACK if self._session.take_back(now_ms) >= 0 else sounds.REFUSED
        else:
            tones = self._long_press(now_ms)
        # A start writes to the flash first, which takes its time: the answer is timed from now, or its first tone is cut short.
        self._session.player.play(tones, player.ANSWER, self._board.ticks_ms())

    def _short_press(self, now_ms: int) -> tuple:
        session = self._session
        if session.acknowledge(now_ms):
            return sounds.TAKEN
        if not session.roast.running:
            return sounds.STARTED if session.start(now_ms) else sounds.REFUSED
        answer = session.mark(session.roast.next_mark(), roast.PRESSED, self._button.at_ms, now_ms)
        return sounds.REFUSED if answer == roast.REFUSED else sounds.TAKEN

    def _long_press(self, now_ms: int) -> tuple:
        session = self._session
        if session.cutoff.reason != trips.NONE:
            return sounds.TAKEN if session.clear_trip(now_ms) else sounds.REFUSED
        return sounds.STOPPED if session.stop(now_ms, events.STOPPED_BY_PRESS) else sounds.REFUSED
