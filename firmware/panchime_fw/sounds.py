"""What the board says by itself: tones in time.

A tone is (hz, on_ms, off_ms); hz 0 is silence. None of these can be written in a plan (sound_words.py), so a milestone never
sounds like an answer. sound_meanings.py lists them all by what they mean.
"""

TAKEN = ((2000, 60, 30), (2700, 60, 60))
TAKEN_BACK = ((2700, 60, 30), (2000, 60, 30), (1400, 60, 60))
REFUSED = ((600, 320, 60),)
FOUND = ((2000, 60, 60), (2000, 60, 60))
STARTED = ((1400, 90, 30), (2000, 90, 30), (2700, 140, 60))
STOPPED = ((2700, 90, 30), (2000, 90, 30), (1400, 140, 60))
COOL = ((1400, 200, 80), (1050, 200, 80), (700, 400, 80))
# High and low in turn without a pause: a high pitch for a piezo's resonance, a low one for older ears.
ALARM = ((2700, 300, 0), (900, 300, 0))
# The heat goes on although the relay was told to open: faster and without the low tone, so that it is another alarm.
ALARM_WELDED = ((2700, 150, 0), (1800, 150, 0), (2700, 150, 0), (1800, 150, 150))
# Low and falling, twice: something is not as it should be, and the roast goes on.
NOTICE = ((900, 200, 60), (600, 300, 200), (900, 200, 60), (600, 300, 60))
REMINDER = ((2700, 250, 40), (900, 250, 40), (2700, 250, 40))
# The heater is off, but a popper's beans go on cooking in their own heat: the alarm, then three steps down, out with them.
ALARM_DUMP = (
    (2700, 300, 0), (900, 300, 0), (2700, 300, 0), (900, 300, 120), (2700, 110, 30), (1800, 110, 30), (1200, 110, 400),
)  # fmt: skip
# Short and away from a piezo's resonance: a chirp, no call.
LEFT_ON = ((1100, 40, 60), (1300, 40, 60))
# A click of so few cycles that it has no pitch to be taken for a note of a cue.
TICK = ((1000, 12, 0),)
# Where the roast is against the guide: a longer note, then as many short ones above it (hotter) or below it (cooler) as steps.
_GUIDE_NOTE = (1200, 300, 60)
GUIDE_ON = (_GUIDE_NOTE, (1200, 110, 60))
GUIDE_HOTTER = (_GUIDE_NOTE, (1900, 110, 40))
GUIDE_MUCH_HOTTER = (_GUIDE_NOTE, (1900, 110, 40), (2800, 110, 60))
GUIDE_COOLER = (_GUIDE_NOTE, (760, 110, 40))
GUIDE_MUCH_COOLER = (_GUIDE_NOTE, (760, 110, 40), (520, 110, 60))
