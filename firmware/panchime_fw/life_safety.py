"""Signals that save lives mean one thing only: no cue may have their rhythm, at whatever pitch.

Fire, ISO 8201 (temporal pattern): three pulses of 0.5 s with 0.5 s between, then 1.5 s of silence. It may not be used for
anything else. Carbon monoxide (as those alarms sound it): four pulses of 0.1 s with 0.1 s between, then 5 s of silence.

A cue is not compared with the tolerance that an alarm's maker must keep, 10 %, but with what a listener may take for it: pulses
and pauses from half to one and a half times as long. Anything at all may follow after a longer pause.
"""

FIRE = "a fire alarm (ISO 8201: three pulses of 0.5 s)"
CARBON_MONOXIDE = "a carbon-monoxide alarm (four pulses of 0.1 s)"
# (name, pulses, shortest, longest ms of a pulse and of the pause between two)
SIGNALS = ((FIRE, 3, 250, 750), (CARBON_MONOXIDE, 4, 50, 150))
# Two tones with less than this between them may be heard as one pulse, or as two: both are looked at.
RUN_TOGETHER_MS = 60


def resembles(tones, repeats: bool = False) -> str:
    """The signal that a compiled sound may be taken for, in words; "" when there is none."""
    if repeats:
        tones = tuple(tones) * 3
    for joined_below_ms in (1, RUN_TOGETHER_MS):
        on_ms, off_ms = _pulses(tones, joined_below_ms)
        for name, count, shortest_ms, longest_ms in SIGNALS:
            if _has_group(on_ms, off_ms, count, shortest_ms, longest_ms):
                return name
    return ""


def _pulses(tones, joined_below_ms: int):
    """Lengths of the pulses and of the pauses between them, whatever their pitch."""
    on_ms: list = []
    off_ms: list = []
    joined = False
    for hz, tone_ms, pause_ms in tones:
        if not hz:
            if on_ms:
                off_ms[-1] += tone_ms + pause_ms
                joined = False
            continue
        if joined:
            on_ms[-1] += off_ms.pop() + tone_ms
        else:
            on_ms.append(tone_ms)
        off_ms.append(pause_ms)
        joined = pause_ms < joined_below_ms
    return on_ms, off_ms


def _has_group(on_ms, off_ms, count: int, shortest_ms: int, longest_ms: int) -> bool:
    """True when exactly `count` such pulses stand together, with a longer pause or the end on both sides."""
    length = 0
    for index in range(len(on_ms)):
        if not shortest_ms <= on_ms[index] <= longest_ms:
            length = 0
            continue
        begins = index == 0 or off_ms[index - 1] > longest_ms
        length = 1 if begins else (length + 1 if length else 0)
        ends = index == len(on_ms) - 1 or off_ms[index] > longest_ms
        if ends and length == count:
            return True
        if not ends and off_ms[index] < shortest_ms:
            length = 0
    return False
