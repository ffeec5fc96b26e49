"""No cue has the rhythm of a fire or carbon-monoxide alarm. ISO 8201; four pulses of 0.1 s, then 5 s."""

from panchime_fw import life_safety, plan, player, sound_meanings, sound_words
from panchime_fw.life_safety import CARBON_MONOXIDE, FIRE

LETTERS = [sign[0] for sign in sound_words.MORSE.split()]
PATTERNS = list(sound_words.PATTERNS) + sorted(sound_words.NAMED)
SPEEDS = (60, 80, 100, 120, 150)


def pulses(count, on_ms, off_ms, last_ms=0, hz=2700):
    return ((hz, on_ms, off_ms),) * (count - 1) + ((hz, on_ms, last_ms or off_ms),)


def check_taken_for(tones, repeats, signal):
    assert life_safety.resembles(tones, repeats) == signal, life_safety.resembles(tones, repeats)


def heard_by_an_alarm_listener(tones, repeats):
    """A second judgement, from what the player really does: pulse by pulse, as somebody with a stop watch writes it down."""
    edges = []
    clock = [0]
    machine = player.Player(lambda hz: edges.append((clock[0], hz)))
    machine.play(tones, player.ALARM if repeats else player.MILESTONE, 0, player.NO_TAG, repeats)
    for now_ms in range(0, 12000 if repeats else 30000, 5):
        clock[0] = now_ms
        machine.step(now_ms)
        if not machine.busy:
            break
    on, off = [], []
    begun = None
    ended = None
    for t_ms, hz in edges:
        if hz and begun is None:
            if ended is not None:
                off.append(t_ms - ended)
            begun = t_ms
        elif not hz and begun is not None:
            on.append(t_ms - begun)
            ended = t_ms
            begun = None
    off.append(10000)
    for name, count, nominal_ms in ((FIRE, 3, 500), (CARBON_MONOXIDE, 4, 100)):
        for first in range(len(on) - count + 1):
            part = on[first : first + count] + off[first : first + count - 1]
            near = [abs(ms - nominal_ms) <= nominal_ms // 4 for ms in part]
            alone = (first == 0 or off[first - 1] > 2 * nominal_ms) and off[first + count - 1] > 2 * nominal_ms
            if all(near) and alone:
                return name
    return ""


def check_own(meaning):
    for name, tones, repeats in sound_meanings.OWN:
        if name == meaning:
            assert life_safety.resembles(tones, repeats) == ""
            assert heard_by_an_alarm_listener(tones, repeats) == ""


def check_plans_sounds(text, speed):
    """Either a plan with this sound is refused with the reason, or what sounds is no such signal by the stop watch."""
    document = {
        "name": "T", "method": "other", "limit": 245, "sound_speed": speed / 100,
        "milestone": [{"label": "A", "sound": text, "rises_to": 100}],
    }  # fmt: skip
    faults = plan.check(document)
    if faults:
        assert len(faults) == 1, faults
        assert any("could be taken for a %s alarm" % kind in faults[0] for kind in ("fire", "carbon-monoxide")), faults
    else:
        assert heard_by_an_alarm_listener(plan.compile_plan(document).milestones[0].tones, False) == ""


def check_refused(text, speed, signal):
    document = {
        "name": "T", "method": "other", "limit": 245, "sound_speed": speed,
        "milestone": [{"label": "A", "sound": text, "rises_to": 100}],
    }  # fmt: skip
    (fault,) = plan.check(document)
    assert "milestone 1 'A': sound '%s' could be taken for %s" % (text, signal) in fault, fault


def check_row_of_cues(text):
    """The same cue three or four times in a row, as a crowded queue would have it."""
    edges = []
    clock = [0]
    machine = player.Player(lambda hz: edges.append((clock[0], hz)))
    for _ in range(4):
        machine.play(sound_words.compile_sound(text), player.MILESTONE, 0)
    for now_ms in range(0, 30000, 5):
        clock[0] = now_ms
        machine.step(now_ms)
    starts = [t_ms for t_ms, hz in edges if hz]
    ends = [t_ms for t_ms, hz in edges if not hz]
    row = tuple((1000, end - start, after - end) for start, end, after in zip(starts, ends, starts[1:] + [99999]))
    assert life_safety.resembles(row) == "", row


TABLES = {
    "taken for": (
        check_taken_for,
        [
            (pulses(3, 500, 500, 1500), False, FIRE),
            (pulses(3, 500, 500, 1500), True, FIRE),
            (pulses(3, 450, 550, 1500), False, FIRE), (pulses(3, 550, 450, 1500), False, FIRE),
            (pulses(3, 250, 250), False, FIRE), (pulses(3, 750, 750), False, FIRE),
            (pulses(3, 245, 250), False, ""), (pulses(3, 500, 240), False, ""), (pulses(3, 760, 500), False, ""),
            (pulses(2, 500, 500), False, ""), (pulses(4, 500, 500), False, ""),
            # one pulse made of tones that run together, at any pitch
            (((2700, 250, 0), (900, 250, 500)) * 3, False, FIRE),
            (((2700, 250, 30), (900, 250, 500)) * 3, False, FIRE),
            # silence as a tone
            (((2700, 500, 100), (0, 400, 0)) * 3, False, FIRE),
            # within something longer
            (((2700, 100, 900),) + pulses(3, 500, 500, 1500), False, FIRE),
            # four in one row are not three
            (((2700, 100, 500),) + pulses(3, 500, 500, 1500), False, ""),
            (((2700, 500, 500),) + pulses(3, 500, 500, 1500), False, ""),
            (pulses(4, 100, 100, 5000), False, CARBON_MONOXIDE), (pulses(4, 100, 100, 5000), True, CARBON_MONOXIDE),
            (pulses(4, 50, 50), False, CARBON_MONOXIDE), (pulses(4, 150, 150), False, CARBON_MONOXIDE),
            (pulses(4, 160, 150), False, ""), (pulses(4, 100, 160), False, ""),
            (pulses(3, 100, 100), False, ""), (pulses(5, 100, 100), False, ""),
            # without a pause behind them there is no group
            (pulses(4, 100, 100), True, ""),
        ],
    ),
    "the board's own": (check_own, [(meaning,) for meaning, _, _ in sound_meanings.OWN]),
    "every pattern and name at every speed": (check_plans_sounds, [(text, speed) for text in PATTERNS for speed in SPEEDS]),
    "every letter and every letter twice and thrice": (
        check_plans_sounds,
        [("morse " + letter * times, speed) for letter in LETTERS for times in (1, 2, 3) for speed in (60, 100, 140)],
    ),
    "refused however it is written": (
        check_refused,
        [
            ("morse TTT", 1, FIRE), ("morse ttt", 0.84, FIRE), ("morse TTT low", 1.2, FIRE),
            ("morse H", 1.4, CARBON_MONOXIDE), ("morse H", 1, CARBON_MONOXIDE), ("morse EH middle", 1.5, CARBON_MONOXIDE),
        ],
    ),
    "three cues in a row": (check_row_of_cues, [(text,) for text in ("morse T", "beeps 1", "morse E", "long", "morse EE")]),
}  # fmt: skip
