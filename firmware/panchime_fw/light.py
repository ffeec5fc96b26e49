"""What the LED shows: on with every tone, else the stage by its blinking, so that it can be read with the sound off.

    idle      a short flash every two seconds
    preheat   slow blinking, half a second on and off
    roasting  on, with a short dark blink every second
    cooling   two short flashes every two seconds
    tripped   fast flashing, also after the alarm was silenced
"""

from . import stages


def level(stage: int, now_ms: int, tone_on: bool) -> bool:
    if stage == stages.TRIPPED:
        return now_ms % 250 < 125
    if tone_on:
        return True
    if stage == stages.PREHEAT:
        return now_ms % 1000 < 500
    if stage == stages.ROASTING:
        return now_ms % 1000 >= 100
    phase_ms = now_ms % 2000
    if stage == stages.COOLING:
        return phase_ms < 100 or 300 <= phase_ms < 400
    return phase_ms < 60
