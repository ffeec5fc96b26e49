"""What the piezo would sound, as samples: the board's own player is stepped in virtual time, its pitch changes are rendered.

A PWM pin gives a square wave; a piezo disc makes of it what its resonance lets through. The square wave is added up from its
odd harmonics below half the sampling rate (so nothing folds back), and the disc is a flat path with one resonance on top.
"""

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from panchime_fw.player import ALARM, MILESTONE, NO_TAG, Player

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

SAMPLE_RATE_HZ = 44100
# Where a disc rings and how sharply: common ones lie between 2.5 and 4 kHz (from memory, no source).
RESONANCE_HZ = 2700.0
RESONANCE_Q = 4.0
# What passes besides the resonance, as a share of what the resonance passes.
FLAT_SHARE = 0.35
# A disc starts and stops within a few periods; this keeps a rendered tone from clicking.
EDGE_MS = 2.0
# The board looks at its sounds every few milliseconds; rendered sounds are stepped as finely.
STEP_MS = 1
LOUDEST = 0.8

Tones = tuple[tuple[int, int, int], ...]


@dataclass(frozen=True)
class Change:
    """From `t_ms` on the pin gives `hz`, 0 for silence."""

    t_ms: int
    hz: int


def changes_of(tones: Tones, repeats_ms: int = 0, step_ms: int = STEP_MS) -> list[Change]:
    """What the board's player does with a compiled sound; a repeating one is stopped after `repeats_ms`."""
    found: list[Change] = []
    now_ms = 0

    def output(hz: int) -> None:
        found.append(Change(now_ms, hz))

    player = Player(output)
    level = ALARM if repeats_ms else MILESTONE
    player.play(tones, level, 0, NO_TAG, repeats_ms > 0)
    while player.busy:
        now_ms += step_ms
        if repeats_ms and now_ms >= repeats_ms:
            player.stop(level, now_ms)
        else:
            player.step(now_ms)
    return found


def samples_of(changes: list[Change], tail_ms: int = 200) -> "NDArray[np.float64]":
    """The sound pressure of these changes, between -1 and 1, SAMPLE_RATE_HZ samples a second, and some silence behind."""
    import numpy as np

    end_ms = (changes[-1].t_ms if changes else 0) + tail_ms
    wave = np.zeros(round(end_ms * SAMPLE_RATE_HZ / 1000))
    for change, following in zip(changes, [*changes[1:], Change(end_ms, 0)], strict=True):
        if change.hz:
            begin = round(change.t_ms * SAMPLE_RATE_HZ / 1000)
            end = round(following.t_ms * SAMPLE_RATE_HZ / 1000)
            wave[begin:end] = tone(change.hz, end - begin)
    return LOUDEST * wave


def tone(hz: float, count: int) -> "NDArray[np.float64]":
    """So many samples of one tone through the disc, the loudest possible tone having an amplitude near 1."""
    import numpy as np

    t_s = np.arange(count) / SAMPLE_RATE_HZ
    wave = np.zeros(count)
    harmonic = 1
    while harmonic * hz < SAMPLE_RATE_HZ / 2:
        gain, phase = disc(harmonic * hz)
        # Fourier series of a square wave of amplitude 1: 4 / (pi n) for odd n.
        wave += 4 / (math.pi * harmonic) * gain * np.sin(2 * math.pi * harmonic * hz * t_s + phase)
        harmonic += 2
    edge = min(count // 2, round(EDGE_MS * SAMPLE_RATE_HZ / 1000))
    ramp = np.ones(count)
    if edge:
        rise = 0.5 - 0.5 * np.cos(np.pi * np.arange(edge) / edge)
        ramp[:edge] = rise
        ramp[count - edge :] = rise[::-1]
    return wave * ramp / (4 / math.pi * (1 + FLAT_SHARE))


def disc(hz: float) -> tuple[float, float]:
    """(gain, phase) of the disc at a frequency: a second-order band-pass plus a flat path."""
    ratio = hz / RESONANCE_HZ - RESONANCE_HZ / hz
    response = 1 / (1 + 1j * RESONANCE_Q * ratio) + FLAT_SHARE
    return abs(response), math.atan2(response.imag, response.real)


def write_wav(path: Path, samples: "NDArray[np.float64]") -> None:
    """A WAV file of 16 bits, one channel. Raises OSError when it cannot be written."""
    import wave

    import numpy as np

    frames = np.clip(samples * 32767, -32768, 32767).astype("<i2").tobytes()
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(SAMPLE_RATE_HZ)
        file.writeframes(frames)
