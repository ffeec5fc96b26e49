"""The player: onset times, order under pressure, nothing lost uncounted."""

from panchime_fw import player
from panchime_fw.player import ALARM, ANSWER, MILESTONE

BEEP = ((2000, 100, 50),)
TWO = ((1000, 100, 50), (1500, 100, 50))
SIREN = ((2700, 300, 0), (900, 300, 0))


def heard(actions, until_ms, step_ms=5, start_ms=0):
    """Carries out {ms: (tones, level, repeats)} and answers the changes of pitch as [(ms, hz), ...]."""
    changes = []
    clock = [0]
    machine = player.Player(lambda hz: changes.append((clock[0], hz)))
    for now_ms in range(0, until_ms, step_ms):
        clock[0] = now_ms
        ticks = (start_ms + now_ms) & 0x3FFFFFFF
        for tones, level, repeats in actions.get(now_ms, ()):
            if tones is None:
                machine.stop(level, ticks)
            else:
                machine.play(tones, level, ticks, player.NO_TAG, repeats)
        machine.step(ticks)
    return changes


def check_heard(actions, until_ms, expected):
    changes = heard(actions, until_ms)
    assert changes == expected, changes


def check_wrap(start_ms):
    assert heard({0: [(TWO, MILESTONE, False)]}, 500, 5, start_ms) == [(0, 1000), (100, 0), (150, 1500), (250, 0)]


def check_full(count, missed):
    machine = player.Player(lambda hz: None)
    for tag in range(count):
        machine.play(BEEP, MILESTONE, 0, tag)
    assert machine.missed_count == missed, machine.missed_count
    if missed:
        assert machine.missed_tag == count - 1


def check_important_pushes_out(levels, missed_tag):
    machine = player.Player(lambda hz: None)
    for tag, level in enumerate(levels):
        machine.play(BEEP, level, 0, tag)
    assert machine.missed_count == 1, machine.missed_count
    assert machine.missed_tag == missed_tag, machine.missed_tag


TABLES = {
    "heard": (
        check_heard,
        [
            ({0: [(BEEP, MILESTONE, False)]}, 400, [(0, 2000), (100, 0)]),
            ({0: [(TWO, MILESTONE, False)]}, 400, [(0, 1000), (100, 0), (150, 1500), (250, 0)]),
            # Two milestones in one moment follow one another whole.
            (
                {0: [(TWO, MILESTONE, False), (BEEP, MILESTONE, False)]}, 600,
                [(0, 1000), (100, 0), (150, 1500), (250, 0), (300, 2000), (400, 0)],
            ),
            # An answer interrupts a milestone, which then starts again from its first tone.
            (
                {0: [(TWO, MILESTONE, False)], 120: [(BEEP, ANSWER, False)]}, 700,
                [(0, 1000), (100, 0), (120, 2000), (220, 0), (270, 1000), (370, 0), (420, 1500), (520, 0)],
            ),
            # A milestone does not interrupt an answer.
            (
                {0: [(BEEP, ANSWER, False)], 10: [(TWO, MILESTONE, False)]}, 500,
                [(0, 2000), (100, 0), (150, 1000), (250, 0), (300, 1500), (400, 0)],
            ),
            # The alarm goes on until it is stopped; what waited follows.
            (
                {0: [(SIREN, ALARM, True)], 50: [(BEEP, MILESTONE, False)], 700: [(None, ALARM, False)]}, 1000,
                [(0, 2700), (300, 900), (600, 2700), (700, 0), (700, 2000), (800, 0)],
            ),
            # Of two that wait the more important comes first, of equals the one that came first.
            (
                {0: [(BEEP, ALARM, False), (TWO, MILESTONE, False), (((700, 50, 50),), ANSWER, False)]}, 700,
                [(0, 2000), (100, 0), (150, 700), (200, 0), (250, 1000), (350, 0), (400, 1500), (500, 0)],
            ),
        ],
    ),
    "across the wrap of the clock": (check_wrap, [((1 << 30) - 60,), ((1 << 30) - 130,)]),
    "a full queue counts what it cannot take": (check_full, [(9, 0), (10, 1), (12, 3)]),
    "the more important pushes out the last of the least": (
        check_important_pushes_out, [([ALARM] + [MILESTONE] * 8 + [ANSWER], 8), ([ALARM] + [ANSWER] * 8 + [MILESTONE], 9)],
    ),
}  # fmt: skip
