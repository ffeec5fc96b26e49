"""What compensating makes of a noisy probe that lags: noise, and the error left against the beans' true temperature.

The samples are what a MAX31855 would make of the lagging probe: Gaussian noise, rounding to 0.25 degC.

    python -m panchime.measure.lag_error
"""

import math
from dataclasses import dataclass
from statistics import fmean

from panchime.measure.rate_error import SAMPLE_MS, sampled
from panchime_fw.lag import LagCompensator
from panchime_fw.signal import SpikeFilter

SEED = 20261125
RAMP_C_PER_MIN = 9.0  # twenty minutes of it stay within a roast: 20 to 200 degC
SECONDS = 1200
SETTLED = 4 * 120


@dataclass(frozen=True)
class LagError:
    """A lag and a noise, and what compensating makes of them, in degC on a ramp of 9 degC/min.

    measured_behind_c and compensated_behind_c: how far each is behind the beans on average. noise_c: standard deviation of the
    compensated value, worst_c: the farthest it strayed from its mean in 20 minutes. filtered_noise_c: the same before
    compensating. bend_c: the largest error on a rate that falls from 30 to 6 degC/min over ten minutes, without noise.
    """

    lag_s: float
    noise_c_in: float
    slope_s: float
    measured_behind_c: float
    compensated_behind_c: float
    filtered_noise_c: float
    noise_c: float
    worst_c: float
    bend_c: float


def compensated(samples: list[int], lag_s: float) -> tuple[list[float], list[float]]:
    """The filtered and the compensated value in degC after each sample."""
    spikes, lag = SpikeFilter(), LagCompensator(round(lag_s * 1000))
    filtered, ahead = [], []
    for k, centi in enumerate(samples):
        value = spikes.add(centi)
        filtered.append(value / 100)
        ahead.append(lag.add(k * SAMPLE_MS, value) / 100)
    return filtered, ahead


def lag_error(lag_s: float, noise_c: float) -> LagError:
    """Measures one lag with one noise."""
    per_s = RAMP_C_PER_MIN / 60

    def beans_c(seconds: float) -> float:
        return 20.0 + per_s * seconds

    def probe_c(seconds: float) -> float:
        return beans_c(seconds) - per_s * lag_s

    filtered, ahead = compensated(sampled(probe_c, SECONDS, noise_c, 0.0, SEED), lag_s)
    truth = [beans_c(k * SAMPLE_MS / 1000) for k in range(len(filtered))]
    off_filtered = [value - true for value, true in zip(filtered, truth, strict=True)][SETTLED:]
    off = [value - true for value, true in zip(ahead, truth, strict=True)][SETTLED:]
    mean, mean_filtered = fmean(off), fmean(off_filtered)
    return LagError(
        lag_s=lag_s,
        noise_c_in=noise_c,
        slope_s=LagCompensator(round(lag_s * 1000)).slope_ms / 1000,
        measured_behind_c=-mean_filtered,
        compensated_behind_c=-mean,
        filtered_noise_c=math.sqrt(fmean((value - mean_filtered) ** 2 for value in off_filtered)),
        noise_c=math.sqrt(fmean((value - mean) ** 2 for value in off)),
        worst_c=max(abs(value - mean) for value in off),
        bend_c=bend_error(lag_s),
    )


def bend_error(lag_s: float) -> float:
    """The largest error without noise while the beans' rate falls from 30 to 6 degC/min over ten minutes."""
    beans, probe, worst = 20.0, 20.0, 0.0
    truth, samples = [], []
    for k in range(600 * 4):
        rate_per_s = (30.0 - 24.0 * k / 2400) / 60
        beans += rate_per_s * SAMPLE_MS / 1000
        probe = beans + (probe - beans) * math.exp(-SAMPLE_MS / 1000 / lag_s) if lag_s else beans
        truth.append(beans)
        samples.append(round(probe * 100))
    _, ahead = compensated(samples, lag_s)
    begun = round(4 * (5 * lag_s + 20))
    for true, value in list(zip(truth, ahead, strict=True))[begun:]:
        worst = max(worst, abs(true - value))
    return worst


def main() -> None:
    """Prints the table of docs/temperature.md."""
    print("| lag, s | slope over, s | measured behind | compensated behind | noise before | noise after | worst | bend |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for lag_s in (2.0, 5.0, 8.5, 15.0, 34.0, 60.0):
        error = lag_error(lag_s, 0.12)
        print(
            f"| {lag_s:g} | {error.slope_s:g} | {error.measured_behind_c:.2f} "
            f"| {error.compensated_behind_c:.2f} | {error.filtered_noise_c:.2f} | {error.noise_c:.2f} | {error.worst_c:.2f} "
            f"| {error.bend_c:.2f} |"
        )


if __name__ == "__main__":
    main()
