"""What the beans lie in: a pan, a drum of a popper, a stream of hot air, an oven. One lump of heat with a source and losses.

All figures are fitted so that roasts take as long as people report; common practice, no source.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class VesselKind:
    """heat_kw at full heat; capacity in kJ/K; losses and the way to the beans in kW/K.

    `ceiling_c`: an oven's thermostat or a popper's cut-out, where there is one. `sees_vessel`: the share of the probe's
    temperature that comes from the vessel and not from the beans around it.
    """

    heat_kw: float
    capacity_kj_per_k: float
    loss_kw_per_k: float
    to_beans_kw_per_k: float
    beans_loss_kw_per_k: float
    sees_vessel: float
    heater_on_relay: bool = False
    ceiling_c: float = 1000.0


class Vessel:
    """The vessel's temperature and its heat."""

    def __init__(self, kind: VesselKind, start_c: float) -> None:
        self.kind = kind
        self.vessel_c = start_c
        self.flame = 0.0

    def heat_kw(self, relay_closed: bool, strength: float) -> float:
        """What the flame or heater gives now. `strength` is the weather's share: cold gas bottles give less."""
        if self.kind.heater_on_relay and not relay_closed:
            return 0.0
        if self.vessel_c >= self.kind.ceiling_c:
            return 0.0
        return self.kind.heat_kw * self.flame * strength

    def to_beans_kw(self, bean_c: float) -> float:
        """Heat that goes over to the beans."""
        return self.kind.to_beans_kw_per_k * (self.vessel_c - bean_c)

    def step(self, heat_kw: float, to_beans_kw: float, air_c: float, wind: float, dt_s: float) -> None:
        """Advances by one small step; `wind` multiplies the losses."""
        loss = self.kind.loss_kw_per_k * wind * (self.vessel_c - air_c)
        self.vessel_c += (heat_kw - loss - to_beans_kw) / self.kind.capacity_kj_per_k * dt_s
