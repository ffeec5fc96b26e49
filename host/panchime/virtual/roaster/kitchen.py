"""A virtual roast in small fixed steps: what the beans and the probe do, and what the person does about it.

The steps are fixed so that the curve does not depend on how often anybody looks.
"""

import math
import random
from dataclasses import dataclass

from panchime.virtual.roaster.beans import Beans
from panchime.virtual.roaster.person import Act, Person
from panchime.virtual.roaster.probe import Probe
from panchime.virtual.roaster.scenario import Scenario
from panchime.virtual.roaster.vessel import Vessel

STEP_US = 50_000
# Beans tipped into a colander or before a fan: cool within three or four minutes (common practice, sources conflict).
COOLING_S = 70.0
FIRST_CRACK_C = 196.0  # 385 degF, as printed for home roasters; others say 202 to 207


@dataclass(frozen=True)
class TracePoint:
    """One second of the truth."""

    t_s: float
    bean_c: float | None
    vessel_c: float
    probe_c: float
    moisture: float | None


class Kitchen:
    """Beans, vessel, probe, air and person of one scenario."""

    def __init__(self, scenario: Scenario, seed: int = 0) -> None:
        self.scenario = scenario
        self.vessel = Vessel(scenario.vessel, scenario.day.air_c)
        self.vessel.flame = scenario.flame
        self.probe = Probe(scenario.day.air_c, scenario.tip.lag_empty_s, scenario.tip.noise_c, seed)
        self.person = Person(scenario.acts)
        self.beans: Beans | None = None
        self.out: Beans | None = None
        self.tipped_out_c: float | None = None
        self.trace: list[TracePoint] = []
        self.first_crack_s: float | None = None
        self._random = random.Random(f"beans {seed}")
        self._steps = 0

    @property
    def t_s(self) -> float:
        return self._steps * STEP_US / 1e6

    @property
    def cold_c(self) -> float:
        """The board's own temperature: it warms beside the stove."""
        day = self.scenario.day
        return day.air_c + day.cold_junction_rise_c * (1.0 - math.exp(-self.t_s / day.cold_junction_s))

    @property
    def bean_c(self) -> float | None:
        """The true temperature of the beans, or None while there are none."""
        return self.beans.bean_c if self.beans else None

    def step(self, relay_closed: bool) -> list[Act]:
        """Advances by one step of 50 ms and returns what the person did at its end."""
        dt_s = STEP_US / 1e6
        day = self.scenario.day
        heat = self.vessel.heat_kw(relay_closed, day.strength)
        over = 0.0
        if self.beans is not None:
            over = self.vessel.to_beans_kw(self.beans.bean_c)
            loss = self.scenario.vessel.beans_loss_kw_per_k * day.wind * (self.beans.bean_c - day.air_c)
            self.beans.step(over - loss, dt_s)
        if self.tipped_out_c is not None:
            self.tipped_out_c = day.air_c + (self.tipped_out_c - day.air_c) * math.exp(-dt_s / COOLING_S)
        self.vessel.step(heat, over, day.air_c, day.wind, dt_s)
        self.probe.step(self._touched_c(), dt_s)
        self._steps += 1
        if self.beans is not None and self.first_crack_s is None and self.beans.bean_c >= FIRST_CRACK_C:
            self.first_crack_s = self.t_s
        if self._steps % (1_000_000 // STEP_US) == 0:
            self._note()
        acts = self.person.watch(self.t_s, self.probe.tip_c, self.bean_c)
        for act in acts:
            self._do(act)
        return acts

    def _touched_c(self) -> float:
        if self.tipped_out_c is not None:
            return self.tipped_out_c  # the probe goes along into the colander
        if self.beans is None:
            return self.vessel.vessel_c
        share = self.scenario.vessel.sees_vessel
        return share * self.vessel.vessel_c + (1.0 - share) * self.beans.bean_c

    def _do(self, act: Act) -> None:
        if act.flame is not None:
            self.vessel.flame = act.flame
        if act.deed == "load" and self.beans is None:
            load = self.scenario.load
            # No two lots are alike: a per cent or two in mass and moisture, from the seed.
            self.beans = Beans(
                dry_kg=load.dry_kg * self._random.gauss(1.0, 0.01),
                bean_c=load.bean_c,
                moisture=load.moisture * self._random.gauss(1.0, 0.02),
                diameter_mm=load.diameter_mm,
                reaction_total=load.reaction_total,
            )
            self.tipped_out_c = None
            self.probe.lag_s = self.scenario.tip.lag_s
        elif act.deed == "unload" and self.beans is not None:
            self.tipped_out_c = self.beans.bean_c
            self.out, self.beans = self.beans, None

    def _note(self) -> None:
        beans = self.beans
        self.trace.append(
            TracePoint(
                self.t_s,
                beans.bean_c if beans else None,
                self.vessel.vessel_c,
                self.probe.tip_c,
                beans.moisture if beans else None,
            )
        )
