"""From the amplifier's bus to a corrected reading, and what the first frames tell about the chip that is wired.

`read` is the beginning of the path from reading to relay and allocates nothing.
"""

from . import faults
from .amplifier import decoder_for
from .amplifier.reading import COLD_UNKNOWN, Reading

# The first frames come before the first conversion of a slow chip has ended; after so many a sound chip has spoken.
FIRST_FRAMES = 4
UNDECIDED = -1


class Chain:
    """`settings` is a Settings; `connect(board)` joins the bus, which needs the decoder to be there first.

    `trusted`: the chip has been seen to be the one in the settings, so a relay may hang on the reading.
    """

    def __init__(self, settings, is_damaged: bool) -> None:
        self.decoder = decoder_for(settings.amplifier, settings.thermocouple)
        self.reading = Reading()
        self._take(settings, is_damaged)

    def connect(self, board) -> None:
        self._board = board

    def take(self, settings, is_damaged: bool) -> None:
        """Measures by these settings from the next frame on. `is_damaged`: they are a guess, see settings_store.py."""
        old = self.settings
        if settings.amplifier != old.amplifier or settings.thermocouple != old.thermocouple:
            self.decoder = decoder_for(settings.amplifier, settings.thermocouple)
            self._board.set_amplifier(self.decoder)
        self._take(settings, is_damaged)

    def _take(self, settings, is_damaged: bool) -> None:
        self.settings = settings
        self.uncalibrated_centi = 0
        # What the first frames have said: a number of faults.py, UNDECIDED while they are still coming.
        self.verdict = UNDECIDED
        self.trusted = False
        self._is_damaged = is_damaged
        self._calibration = settings.calibration
        self._look = bytearray(self.decoder.LOOK_BYTES)
        self._bad = 0
        self._good = 0
        self._own = 0
        self._looking = True

    def read(self):
        """One frame, decoded and corrected; the same Reading every time."""
        reading = self.reading
        if self._looking:
            self._read_first()
        else:
            self.decoder.decode(self._board.read_frame(), reading)
        if reading.fault == faults.NONE:
            self.uncalibrated_centi = reading.temperature_centi
            reading.temperature_centi = self._calibration.apply(reading.temperature_centi)
        return reading

    def _read_first(self) -> None:
        """As `read`, and judges the chip: by the frame, and where that has too few fixed bits by what follows it.

        A frame that could be another chip's is looked at again for as long as no look has spoken against it, and is a fault:
        half the temperature is worse than none.
        """
        frame = self._board.read_look(self._look) if len(self._look) else self._board.read_frame()
        self.decoder.decode(frame, self.reading)
        fault = self.decoder.identify(frame)
        if fault != faults.NONE:
            self._bad += 1
            if self._bad >= FIRST_FRAMES and self._good == 0:
                self.verdict = fault
            return
        self._good += 1
        if not self.decoder.looks_alien(self._look):
            self._own += 1
        if self._good < FIRST_FRAMES:
            return
        if self._own == 0:
            self.verdict = faults.WRONG_CHIP
            self.reading.fail(faults.WRONG_CHIP, COLD_UNKNOWN)
        else:
            self.verdict = faults.NONE
            self.trusted = not self._is_damaged
            self._looking = False
