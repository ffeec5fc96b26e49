"""What the board says by itself, by what it means: for the pages, the warnings and the cases; the board need not load it."""

from . import sounds

# Meaning, tones, and whether they repeat until somebody answers.
OWN = (
    ("press taken", sounds.TAKEN, False),
    ("mark taken back", sounds.TAKEN_BACK, False),
    ("press refused", sounds.REFUSED, False),
    ("mark found in the curve", sounds.FOUND, False),
    ("started", sounds.STARTED, False),
    ("stopped", sounds.STOPPED, False),
    ("cool enough, the record ends", sounds.COOL, False),
    ("notice", sounds.NOTICE, False),
    ("still tripped", sounds.REMINDER, False),
    ("left on", sounds.LEFT_ON, False),
    ("on the guide again", sounds.GUIDE_ON, False),
    ("hotter than the guide", sounds.GUIDE_HOTTER, False),
    ("much hotter than the guide", sounds.GUIDE_MUCH_HOTTER, False),
    ("cooler than the guide", sounds.GUIDE_COOLER, False),
    ("much cooler than the guide", sounds.GUIDE_MUCH_COOLER, False),
    ("beat", sounds.TICK, False),
    ("ALARM", sounds.ALARM, True),
    ("ALARM: still heating, pull the plug", sounds.ALARM_WELDED, True),
    ("ALARM: tip the beans out", sounds.ALARM_DUMP, True),
)
