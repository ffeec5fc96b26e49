"""The board's rate of rise against what else one could take: plain differences, and a Savitzky-Golay fit, on the same samples.

A plain difference over 30 s is what a spreadsheet gives; scipy's filter (a parabola over 31 s, Savitzky and Golay 1964) sees
the future, which a board cannot: its rate for a moment needs 15 s more.
"""

import math
from dataclasses import dataclass

import numpy as np

from panchime.measure.figure import Figure
from panchime.measure.rate_error import SAMPLE_MS, SEED, SWING_S, rates, sampled, swing_delay_s, swinging_c

WINDOW_S = 30
NOISE_C = 0.25
SPIKE_SHARE = 0.002
PEERS = ("Panchime", "plain differences", "Savitzky-Golay")


@dataclass(frozen=True)
class RateQuality:
    """degC a minute and s. `worst_c_per_min`: the farthest from the truth on the ramp, which spikes bring about."""

    noise_c_per_min: float
    bias_c_per_min: float
    delay_s: float
    worst_c_per_min: float


def differences(samples: list[int]) -> list[float | None]:
    """(this sample - the one 30 s ago), in degC a minute."""
    steps = WINDOW_S * 1000 // SAMPLE_MS
    scale = 60 / WINDOW_S / 100
    return [None if k < steps else (samples[k] - samples[k - steps]) * scale for k in range(len(samples))]


def savitzky_golay(samples: list[int]) -> list[float | None]:
    """scipy's filter, delayed to when its window is complete: what a board could know."""
    from scipy.signal import savgol_filter

    length = WINDOW_S * 1000 // SAMPLE_MS + 1
    centred = savgol_filter(np.array(samples) / 100, length, 2, deriv=1, delta=SAMPLE_MS / 60000)
    half = length // 2
    return [None if k < length - 1 else float(centred[k - half]) for k in range(len(samples))]


def panchime(samples: list[int]) -> list[float | None]:
    return rates(samples, WINDOW_S * 1000)


def quality(peer: str, spike_share: float) -> RateQuality:
    """On a ramp of 10 degC a minute and on a slow swing of the rate, 50 minutes and 80, the same samples for every peer."""
    rate_of = {"Panchime": panchime, "plain differences": differences, "Savitzky-Golay": savitzky_golay}[peer]
    ramp = rate_of(sampled(lambda t_s: 20 + t_s / 6, 3000, NOISE_C, spike_share, SEED))
    settled = [value for k, value in enumerate(ramp) if value is not None and k * SAMPLE_MS >= WINDOW_S * 1000]
    mean = math.fsum(settled) / len(settled)
    return RateQuality(
        noise_c_per_min=math.sqrt(math.fsum((value - mean) ** 2 for value in settled) / len(settled)),
        bias_c_per_min=mean - 10,
        delay_s=swing_delay_s(rate_of(sampled(swinging_c, 20 * SWING_S, NOISE_C, spike_share, SEED + 1))),
        worst_c_per_min=max(abs(value - 10) for value in settled),
    )


def peer_figures() -> list[Figure]:
    """Noise, bias, delay, and the farthest error with spikes, ours against both peers."""
    how = f"50 min of 10 degC/min, 80 min of a swinging rate; seeded noise of {NOISE_C:g} degC, the chip's steps"
    quiet = {peer: quality(peer, 0.0) for peer in PEERS}
    spiky = {peer: quality(peer, SPIKE_SHARE) for peer in PEERS}
    found = []
    for peer in PEERS[1:]:
        ours, theirs, ours_spiky, theirs_spiky = quiet[PEERS[0]], quiet[peer], spiky[PEERS[0]], spiky[peer]
        for name, unit, our, their in (
            ("noise", "degC/min", ours.noise_c_per_min, theirs.noise_c_per_min),
            ("delay", "s", ours.delay_s, theirs.delay_s),
            ("noise with a spike every 500 samples", "degC/min", ours_spiky.noise_c_per_min, theirs_spiky.noise_c_per_min),
            ("farthest off with spikes", "degC/min", ours_spiky.worst_c_per_min, theirs_spiky.worst_c_per_min),
        ):
            found.append(Figure(f"rate over {WINDOW_S} s against {peer}: {name}", our, unit, how, peer, our / their))
    return [*found, Figure(f"rate over {WINDOW_S} s: bias", abs(quiet[PEERS[0]].bias_c_per_min), "degC/min", how)]
