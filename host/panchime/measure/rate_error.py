"""Noise, bias and delay of the spike filter and the rate of rise, on noisy curves whose truth is known.

The samples are what a MAX31855 would make of the curve: Gaussian noise, single-sample spikes, rounding to 0.25 degC.

    python -m panchime.measure.rate_error
"""

import math
import random
from collections.abc import Callable
from dataclasses import dataclass

from panchime_fw.signal import RateOfRise, SpikeFilter

SAMPLE_MS = 250
SEED = 20261125
SWING_S = 240


@dataclass(frozen=True)
class RateError:
    """A window and a noise, and what the rate makes of them.

    noise_c_per_min: standard deviation on a straight ramp of 10 degC/min. bias_c_per_min: its mean minus 10.
    delay_s: how late a slow swing of the rate arrives. delayed_rms_c_per_min: what is left of the error on a roast's
    curve once that delay is allowed for. first_ready_s: when the first rate is there.
    """

    window_s: float
    noise_c: float
    spike_share: float
    noise_c_per_min: float
    bias_c_per_min: float
    delay_s: float
    delayed_rms_c_per_min: float
    first_ready_s: float


def sampled(
    truth_c: Callable[[float], float], seconds: int, noise_c: float, spike_share: float, seed: int
) -> list[int]:
    """Hundredths of a degree every SAMPLE_MS: truth_c(seconds), noise, spikes of 20 to 80 degC, steps of 0.25 degC."""
    chance = random.Random(seed)
    samples = []
    for k in range(seconds * 1000 // SAMPLE_MS):
        value_c = truth_c(k * SAMPLE_MS / 1000) + chance.gauss(0, noise_c)
        if chance.random() < spike_share:
            value_c += chance.choice((-1, 1)) * chance.uniform(20, 80)
        samples.append(round(value_c * 4) * 25)
    return samples


def rates(samples: list[int], window_ms: int) -> list[float | None]:
    """The firmware's rate in degC/min after each sample, None until it is ready."""
    spikes, rate = SpikeFilter(), RateOfRise(window_ms)
    found: list[float | None] = []
    for k, centi in enumerate(samples):
        rate.add(k * SAMPLE_MS, spikes.add(centi))
        found.append(rate.centi_per_min / 100 if rate.ready else None)
    return found


def rms_at_shift(found: list[float | None], truth_c_per_min: Callable[[float], float], shift_s: float) -> float:
    """Root of the mean squared error of the rates (from 70 s on) against the truth shift_s earlier."""
    squares = [
        (value - truth_c_per_min(k * SAMPLE_MS / 1000 - shift_s)) ** 2
        for k, value in enumerate(found)
        if value is not None and k * SAMPLE_MS >= 70000
    ]
    return math.sqrt(sum(squares) / len(squares))


def swing_delay_s(found: list[float | None]) -> float:
    """How late the rate of swinging_c arrives: the phase of the rates at its period, over whole periods."""
    first = math.ceil(next(k for k, value in enumerate(found) if value is not None) * SAMPLE_MS / 1000 / SWING_S)
    begin, end = int(first * SWING_S * 1000) // SAMPLE_MS, len(found)
    sine = cosine = 0.0
    for k in range(begin, end):
        angle = math.tau * k * SAMPLE_MS / 1000 / SWING_S
        value = found[k] or 0.0
        sine += value * math.sin(angle)
        cosine += value * math.cos(angle)
    return -math.atan2(cosine, sine) / math.tau * SWING_S


def swinging_c(t_s: float) -> float:
    """A temperature whose rate swings between -10 and +10 degC/min once in four minutes."""
    return 200 - 10 / 60 * SWING_S / math.tau * math.cos(math.tau * t_s / SWING_S)


def roast_c(t_s: float) -> float:
    """A roast after its turning point, simplified to one exponential: 80 degC rising towards 250 with 300 s."""
    return 250 - 170 * math.exp(-t_s / 300)


def roast_c_per_min(t_s: float) -> float:
    return 60 * 170 / 300 * math.exp(-t_s / 300)


def rate_error(window_s: int, noise_c: float, spike_share: float) -> RateError:
    window_ms = window_s * 1000
    ramp = rates(sampled(lambda t_s: 20 + t_s / 6, 3000, noise_c, spike_share, SEED), window_ms)
    settled = [value for k, value in enumerate(ramp) if value is not None and k * SAMPLE_MS >= window_ms]
    mean = sum(settled) / len(settled)
    noise = math.sqrt(sum((value - mean) ** 2 for value in settled) / len(settled))
    swing = rates(sampled(swinging_c, 20 * SWING_S, noise_c, spike_share, SEED + 1), window_ms)
    delay_s = swing_delay_s(swing)
    roast = rates(sampled(roast_c, 720, noise_c, spike_share, SEED + 2), window_ms)
    first_ready = next(k for k, value in enumerate(ramp) if value is not None) * SAMPLE_MS / 1000
    return RateError(
        window_s,
        noise_c,
        spike_share,
        noise,
        mean - 10,
        delay_s,
        rms_at_shift(roast, roast_c_per_min, delay_s),
        first_ready,
    )


def rate_errors() -> list[RateError]:
    """Three windows: no noise but the chip's steps, a quiet probe, a noisy one with a spike every fifty samples."""
    return [rate_error(w, n, s) for w in (20, 30, 60) for n, s in ((0.0, 0.0), (0.25, 0.0), (0.5, 0.02))]


def filter_delay_samples() -> int:
    """Samples from a step of the temperature until the filter shows it, less one for the sample itself."""
    spikes = SpikeFilter()
    for _ in range(8):
        spikes.add(2000)
    return next(k for k in range(8) if spikes.add(9000) == 9000)


def spikes_passed(spike_share: float) -> tuple[int, int]:
    """(spikes sent, samples that come out more than 10 degC wrong) on a flat line of an hour."""
    samples = sampled(lambda t_s: 200.0, 3600, 0.25, spike_share, SEED + 3)
    spikes = SpikeFilter()
    sent = sum(abs(centi - 20000) > 1000 for centi in samples)
    return sent, sum(abs(spikes.add(centi) - 20000) > 1000 for centi in samples)


if __name__ == "__main__":
    print("window s  noise degC  spikes %  rate noise  bias  delay s  roast rms  first rate s")
    for e in rate_errors():
        print(
            f"{e.window_s:8} {e.noise_c:11.2f} {e.spike_share * 100:9.0f} {e.noise_c_per_min:11.2f} "
            f"{e.bias_c_per_min:+6.2f} {e.delay_s:7.2f} {e.delayed_rms_c_per_min:10.2f} {e.first_ready_s:13.2f}"
        )
    print(f"spike filter: {filter_delay_samples() * SAMPLE_MS} ms late")
    for share in (0.001, 0.01, 0.02):
        sent, passed = spikes_passed(share)
        print(f"spike filter: {passed} of {sent} spikes come through when {share:.1%} of the samples are spikes")
