"""Several roasts laid over one another: how many degrees they are apart."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from panchime.analysis.smoothing import LONGEST_BRIDGE_S, Floats, Smoothed
from panchime.analysis.span import Span

STEP_S = 1.0


@dataclass(frozen=True)
class Aligned:
    """A roast whose times count from the moment at which it is laid over the others."""

    curve: Smoothed
    span: Span
    zero_s: float


@dataclass(frozen=True)
class Repeatability:
    """How far apart the roasts are: at each second the difference between the hottest and the coolest, degC.

    ``from_s`` and ``to_s`` bound the stretch that all of them have, counted from the alignment.
    """

    from_s: float
    to_s: float
    mean_c: float
    worst_c: float
    worst_at_s: float


def common_grid(roasts: Sequence[Aligned]) -> Floats:
    """Every second that lies in the span of all roasts, counted from the alignment."""
    begin = max(roast.span.from_s - roast.zero_s for roast in roasts)
    end = min(roast.span.to_s - roast.zero_s for roast in roasts)
    return np.arange(np.ceil(begin / STEP_S), np.floor(end / STEP_S) + 1) * STEP_S


def on_grid(roast: Aligned, grid_s: Floats, values: Floats) -> Floats:
    """Values of a roast's curve at the grid's moments; NaN outside its readings, in gaps and beyond its span.

    No value is drawn between the last reading of the span and the first one after it: that is another stretch.
    """
    t_s = roast.curve.t_s
    if len(t_s) < 2:
        return np.full(len(grid_s), np.nan)
    moments = grid_s + roast.zero_s
    found = np.interp(moments, t_s, values, left=np.nan, right=np.nan)
    after = np.clip(np.searchsorted(t_s, moments), 1, len(t_s) - 1)
    found[(t_s[after] - t_s[after - 1] > LONGEST_BRIDGE_S) | (t_s[after] >= roast.span.to_s)] = np.nan
    return found


def repeatability(roasts: Sequence[Aligned]) -> Repeatability | None:
    """The figures of two or more roasts; None when they have no second in common."""
    grid = common_grid(roasts)
    if len(roasts) < 2 or not len(grid):
        return None
    values = np.vstack([on_grid(roast, grid, roast.curve.temperature_c) for roast in roasts])
    apart = values.max(axis=0) - values.min(axis=0)
    known = ~np.isnan(apart)
    if not known.any():
        return None
    grid, apart = grid[known], apart[known]
    worst = int(np.argmax(apart))
    return Repeatability(float(grid[0]), float(grid[-1]), float(apart.mean()), float(apart[worst]), float(grid[worst]))
