"""What the light shows: on with every tone, else the stage by its blinking, so that it can be read with the sound off.

    idle      a short flash every two seconds
    preheat   slow blinking, half a second on and off
    roasting  on, with a short dark blink every second
    cooling   two short flashes every two seconds
    tripped   fast flashing, also after the alarm was silenced

A light of three colours says the same once more. The blinking alone tells the stages apart, so nobody needs to see colours;
those that mean opposite things (taken, refused) differ in blue, which people who confuse red and green see well.
"""

from . import stages

DARK = 0
RED = 1
GREEN = 2
BLUE = 4
YELLOW = RED | GREEN
MAGENTA = RED | BLUE
CYAN = GREEN | BLUE
WHITE = RED | GREEN | BLUE

STAGE_COLOURS = (WHITE, BLUE, YELLOW, CYAN, RED)
TONE_COLOUR = WHITE
REFUSED_COLOUR = MAGENTA


def colour(stage: int, now_ms: int, tone_on: bool, refused: bool) -> int:
    """Sum of RED, GREEN and BLUE; DARK is 0. `refused`: the tone that is on is the answer to a press that was refused.

    A trip flashes red and, in the dark halves of the flashing, shows nothing else, whatever sounds.
    """
    if tone_on and stage != stages.TRIPPED:
        return REFUSED_COLOUR if refused else TONE_COLOUR
    return STAGE_COLOURS[stage] if level(stage, now_ms, tone_on) else DARK


def level(stage: int, now_ms: int, tone_on: bool) -> bool:
    """What a light of one colour shows."""
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
