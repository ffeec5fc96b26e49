"""The button: each bound from both sides in time, and bouncing contacts."""

from panchime_fw import press
from panchime_fw.press import DOUBLE, LONG, SHORT

STEP_MS = 5


def told_by(levels, start_ms=0):
    """Plays [(down, ms), ...] in steps of 5 ms and answers [(what, at ms), ...]."""
    button = press.Button()
    now_ms = start_ms
    told = []
    for down, duration_ms in levels:
        for _ in range(duration_ms // STEP_MS):
            what = button.step(now_ms & 0x3FFFFFFF, down)
            if what != press.NONE:
                told.append((what, now_ms - start_ms, (button.at_ms - start_ms) & 0x3FFFFFFF))
            now_ms += STEP_MS
    return told


def check_kinds(levels, kinds):
    told = [what for what, _, _ in told_by(levels)]
    assert told == kinds, told


def check_pressed_at(levels, at_ms):
    _, _, pressed_ms = told_by(levels)[0]
    assert pressed_ms == at_ms, pressed_ms


def check_long_is_told_while_held(held_ms, expected):
    told = told_by([(False, 100), (True, held_ms)])
    assert [what for what, _, _ in told] == expected, told


def check_wrap(start_ms):
    told = told_by([(False, 100), (True, 120), (False, 600)], start_ms)
    assert [what for what, _, _ in told] == [SHORT], told


def check_unwatched(gap_ms, expected):
    """A hold of two seconds that is looked at only so often: long when it was watched, never when it was not."""
    button = press.Button()
    told = []
    for now_ms in range(0, 2100, gap_ms):
        what = button.step(now_ms, now_ms > 0)
        if what != press.NONE:
            told.append(what)
    assert told == expected, told


BOUNCE = [(True, 5), (False, 5), (True, 5), (False, 5)]

TABLES = {
    "kinds": (
        check_kinds,
        [
            ([(False, 100), (True, 120), (False, 600)], [SHORT]),
            ([(False, 100), (True, 15), (False, 600)], []),
            ([(False, 100), (True, 25), (False, 600)], [SHORT]),
            ([(False, 100), (True, 100), (False, 100), (True, 100), (False, 600)], [DOUBLE]),
            ([(False, 100), (True, 100), (False, 390), (True, 100), (False, 600)], [DOUBLE]),
            ([(False, 100), (True, 100), (False, 450), (True, 100), (False, 600)], [SHORT, SHORT]),
            ([(False, 100), (True, 1200), (False, 600)], [LONG]),
            ([(False, 100), (True, 960), (False, 600)], [SHORT]),
            ([(False, 100), (True, 100), (False, 100), (True, 1500), (False, 600)], [LONG]),
            ([(False, 100)] + BOUNCE + [(True, 120)] + [(False, 5), (True, 5)] + [(False, 600)], [SHORT]),
            ([(False, 100), (True, 1200), (False, 300), (True, 120), (False, 600)], [LONG, SHORT]),
            # Down since power-on: a stuck button or a resting hand starts nothing, and no long press either.
            ([(True, 300), (False, 600)], []),
            ([(True, 3000), (False, 600), (True, 120), (False, 600)], [SHORT]),
        ],
    ),
    "a mark is made for the moment the finger came down": (
        check_pressed_at,
        [([(False, 100), (True, 300), (False, 600)], 100), ([(False, 200), (True, 40), (False, 600)], 200)],
    ),
    "a long press is told while it is held": (
        check_long_is_told_while_held, [(990, []), (1030, [LONG]), (5000, [LONG])],
    ),
    "a hold that nobody watched": (check_unwatched, [(50, [LONG]), (100, [LONG]), (150, []), (500, [])]),
    "across the wrap of the clock": (check_wrap, [((1 << 30) - 150,), ((1 << 30) - 300,)]),
}  # fmt: skip
