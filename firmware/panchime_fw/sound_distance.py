"""How far apart two sounds are to an ear that has not practised: rhythm first, then the way the pitch moves, then pitch.

A judgement, not a measurement of people: the weights are common sense about listening (no source) and are checked against each
other in docs/sounds.md. 1 is a plain difference: one beep more, a dash in place of a dot, a step up in place of a step down.
Floats: for the host, which warns of two sounds that are too near; the board need not load it.
"""

import math

# Nearer than this, two sounds of one plan are taken for one another.
TOLD_APART = 0.7
# A sound that is proposed in place of another keeps this distance from all the others.
WELL_APART = 0.85

A_PULSE = 1.0  # one more or fewer
CLEAR_RATIO = 3.0  # a Morse dash to its dot: a length that differs so much counts 1
PAUSE_WEIGHT = 0.5  # pauses are heard less surely than tones
MOST_A_PULSE = 1.2  # two pulses cannot differ by more than if one were missing and another were there
CONTOUR_WEIGHT = 1.0  # an octave of pitch within a sound, against its middle
PITCH_WEIGHT = 0.6  # an octave of the whole sound: nobody hears the two side by side
# Of more pulses than this nobody keeps count: differences are spread over the whole.
COUNTED = 3


def distance(tones, others) -> float:
    """Between two compiled sounds, tuples of (hz, on_ms, off_ms); 0 for the same."""
    first = _notes(tones)
    second = _notes(others)
    middle_first = _middle(first)
    middle_second = _middle(second)
    moved = abs(middle_first - middle_second) * PITCH_WEIGHT
    # Cheapest way of turning one row of pulses into the other (Levenshtein), with part costs for pulses that differ.
    row = [A_PULSE * column for column in range(len(second) + 1)]
    for index, note in enumerate(first):
        above = row
        row = [A_PULSE * (index + 1)]
        for column, other in enumerate(second):
            last = index == len(first) - 1 or column == len(second) - 1
            changed = above[column] + _difference(note, other, middle_first, middle_second, last)
            row.append(min(changed, above[column + 1] + A_PULSE, row[column] + A_PULSE))
    most = max(len(first), len(second))
    return moved + row[-1] * min(1.0, COUNTED / most)


def _notes(tones) -> list:
    """(octaves above 1 Hz, on_ms, off_ms) of what sounds."""
    return [(math.log(hz) / math.log(2), on_ms, off_ms) for hz, on_ms, off_ms in tones if hz]


def _middle(notes) -> float:
    return sum([note[0] for note in notes]) / len(notes)


def _difference(note, other, middle_note: float, middle_other: float, last: bool) -> float:
    length = abs(math.log(note[1] / other[1])) / math.log(CLEAR_RATIO)
    pitch = abs((note[0] - middle_note) - (other[0] - middle_other)) * CONTOUR_WEIGHT
    # No pause is heard as shorter than 30 ms; the one behind the last pulse is silence like any other.
    pause = 0.0 if last else abs(math.log(max(30, note[2]) / max(30, other[2]))) / math.log(CLEAR_RATIO) * PAUSE_WEIGHT
    return min(MOST_A_PULSE, length + pitch + pause)
