"""The player: onset times, order under pressure, nothing lost uncounted."""

from panchime_fw import player, sound_words
from panchime_fw.player import ALARM, ANSWER, CUE_GAP_MS, MILESTONE, STALE_MS, TICK, URGENT

BEEP = ((2000, 100, 50),)
TWO = ((1000, 100, 50), (1500, 100, 50))
SIREN = ((2700, 300, 0), (900, 300, 0))
OTHER_SIREN = ((2000, 400, 0), (1000, 400, 0))
LOW_BEEP = ((700, 50, 50),)
CLICK = ((1000, 10, 0),)


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


def check_lost(actions, until_ms, lost):
    """`actions`: {ms: [(level, tag)]} or {ms: None} to stop the alarm; `lost`: what is told of taken tags, [(ms, tag)]."""
    told = []
    machine = player.Player(lambda hz: None, lambda tag, now_ms: told.append((now_ms, tag)))
    for now_ms in range(0, until_ms, 5):
        if now_ms in actions:
            if actions[now_ms] is None:
                machine.stop(ALARM, now_ms)
            else:
                for level, tag in actions[now_ms]:
                    machine.play(SIREN if level == ALARM else BEEP, level, now_ms, tag, level == ALARM)
        machine.step(now_ms)
    assert told == lost, told


def check_gap(text, speed):
    assert 1.3 * max(off_ms for _, _, off_ms in sound_words.compile_sound(text, speed)) < CUE_GAP_MS, text


def check_late(late_ms, expected):
    """Every step but one comes every millisecond; that one, at 100 ms, is late."""
    changes = []
    clock = [0]
    machine = player.Player(lambda hz: changes.append((clock[0], hz)))
    machine.play(TWO, MILESTONE, 0)
    for now_ms in range(500):
        if not 100 <= now_ms < 100 + late_ms:
            clock[0] = now_ms
            machine.step(now_ms)
    assert changes == expected, changes


def check_steady(now_ms, expected):
    machine = player.Player(lambda hz: None)
    machine.play(TWO, MILESTONE, 0)
    machine.play(BEEP, MILESTONE, 0)
    for at_ms in range(0, now_ms + 1, 5):
        machine.step(at_ms)
    assert machine.steady_ms(now_ms) == expected, machine.steady_ms(now_ms)


EIGHT = [(MILESTONE, tag) for tag in range(1, 9)]

TABLES = {
    "what was taken and then lost is told": (
        check_lost,
        [
            ({0: [(ALARM, -1)] + EIGHT, 100: [(ANSWER, -1)]}, 200, [(100, 8)]),
            ({0: [(ALARM, -1)] + EIGHT, 100: [(URGENT, 9)]}, 200, [(100, 8)]),
            ({0: [(ALARM, -1)] + EIGHT, 100: [(MILESTONE, 9)]}, 200, []),
            # behind an alarm for too long: told when the alarm ends, not as if it were now
            ({0: [(ALARM, -1), (MILESTONE, 3)], 20000: [(MILESTONE, 4)], 31000: None}, 40000, [(31000, 3)]),
            ({0: [(ALARM, -1), (MILESTONE, 3)], STALE_MS - CUE_GAP_MS: None}, 40000, []),
            # interrupted in a full queue
            ({0: [(MILESTONE, 0)] + EIGHT, 50: [(ANSWER, -1)]}, 60, [(50, 0)]),
        ],
    ),
    "a late step": (
        check_late,
        [
            (0, [(0, 1000), (100, 0), (150, 1500), (250, 0)]),
            # a little: the next tone is where it was planned
            (15, [(0, 1000), (115, 0), (150, 1500), (250, 0)]),
            # much: the rest of the sound moves, whole
            (60, [(0, 1000), (160, 0), (210, 1500), (310, 0)]),
        ],
    ),
    "how long nothing changes": (
        check_steady,
        [(0, 100), (40, 60), (100, 50), (150, 100), (250, 50), (300, 950), (700, 550), (1300, 50)],
    ),
    "the gap between cues is longer than any pause within one": (
        check_gap, [(text, speed) for text in ("morse EE", "rising twice", "beeps 3") for speed in (60, 100, 150)],
    ),
    "heard": (
        check_heard,
        [
            ({0: [(BEEP, MILESTONE, False)]}, 400, [(0, 2000), (100, 0)]),
            ({0: [(TWO, MILESTONE, False)]}, 400, [(0, 1000), (100, 0), (150, 1500), (250, 0)]),
            # Two milestones in one moment follow one another whole, with the gap that lets the ear know where one ends.
            (
                {0: [(TWO, MILESTONE, False), (BEEP, MILESTONE, False)]}, 1600,
                [(0, 1000), (100, 0), (150, 1500), (250, 0), (1250, 2000), (1350, 0)],
            ),
            # One that comes due while the last is hardly over waits for the rest of the gap.
            (
                {0: [(BEEP, MILESTONE, False)], 700: [(TWO, MILESTONE, False)]}, 1600,
                [(0, 2000), (100, 0), (1100, 1000), (1200, 0), (1250, 1500), (1350, 0)],
            ),
            ({0: [(BEEP, MILESTONE, False)], 1200: [(BEEP, MILESTONE, False)]}, 1600,
             [(0, 2000), (100, 0), (1200, 2000), (1300, 0)]),
            # An answer interrupts a milestone, which then starts again from its first tone.
            (
                {0: [(TWO, MILESTONE, False)], 120: [(BEEP, ANSWER, False)]}, 1700,
                [(0, 1000), (100, 0), (120, 2000), (220, 0), (1220, 1000), (1320, 0), (1370, 1500), (1470, 0)],
            ),
            # It comes at once in the gap between two cues, too.
            (
                {0: [(BEEP, MILESTONE, False), (TWO, MILESTONE, False)], 500: [(LOW_BEEP, ANSWER, False)]}, 2000,
                [(0, 2000), (100, 0), (500, 700), (550, 0), (1550, 1000), (1650, 0), (1700, 1500), (1800, 0)],
            ),
            # A milestone does not interrupt an answer.
            (
                {0: [(BEEP, ANSWER, False)], 10: [(TWO, MILESTONE, False)]}, 1500,
                [(0, 2000), (100, 0), (1100, 1000), (1200, 0), (1250, 1500), (1350, 0)],
            ),
            # An urgent cue passes those that wait and does not cut off the one that sounds.
            (
                {0: [(TWO, MILESTONE, False), (BEEP, MILESTONE, False), (LOW_BEEP, URGENT, False)]}, 3000,
                [(0, 1000), (100, 0), (150, 1500), (250, 0), (1250, 700), (1300, 0), (2300, 2000), (2400, 0)],
            ),
            # The alarm goes on until it is stopped; what waited follows.
            (
                {0: [(SIREN, ALARM, True)], 50: [(BEEP, MILESTONE, False)], 700: [(None, ALARM, False)]}, 2000,
                [(0, 2700), (300, 900), (600, 2700), (700, 0), (1700, 2000), (1800, 0)],
            ),
            # Another alarm takes its place at once.
            (
                {0: [(SIREN, ALARM, True)], 100: [(OTHER_SIREN, ALARM, True)], 1000: [(None, ALARM, False)]}, 2000,
                [(0, 2700), (100, 2000), (500, 1000), (900, 2000), (1000, 0)],
            ),
            # Of two that wait the more important comes first, of equals the one that came first.
            (
                {0: [(BEEP, ALARM, False), (TWO, MILESTONE, False), (LOW_BEEP, ANSWER, False)]}, 1700,
                [(0, 2000), (100, 0), (150, 700), (200, 0), (1200, 1000), (1300, 0), (1350, 1500), (1450, 0)],
            ),
            # A beat clicks only where nothing sounds, waits or has just sounded, and anything ends it.
            (
                {0: [(CLICK, TICK, False)], 100: [(BEEP, MILESTONE, False)], 150: [(CLICK, TICK, False)],
                 800: [(CLICK, TICK, False)], 1300: [(CLICK, TICK, False)]}, 1500,
                [(0, 1000), (10, 0), (100, 2000), (200, 0), (1300, 1000), (1310, 0)],
            ),
            ({0: [(CLICK, TICK, False)], 5: [(BEEP, MILESTONE, False)]}, 400, [(0, 1000), (5, 2000), (105, 0)]),
        ],
    ),
    "across the wrap of the clock": (check_wrap, [((1 << 30) - 60,), ((1 << 30) - 130,)]),
    "a full queue counts what it cannot take": (check_full, [(9, 0), (10, 1), (12, 3)]),
    "the more important pushes out the last of the least": (
        check_important_pushes_out, [([ALARM] + [MILESTONE] * 8 + [ANSWER], 8), ([ALARM] + [ANSWER] * 8 + [MILESTONE], 9)],
    ),
}  # fmt: skip
