"""A lump of coffee beans that warms, dries and releases heat.

The form is Schwartzberg's (2002); the constants are second-hand, from memory. Temperatures in degC, moisture X in kg of water
per kg of dry bean, diameter in mm, heat in kW and kJ.
"""

import math
from dataclasses import dataclass

LATENT_HEAT_KJ_PER_KG = 2790.0
REACTION_FACTOR_KW_PER_KG = 116200.0
# Disputed: measurements found that the reactions add less than 5 degC to the end temperature.
REACTION_HEAT_KJ_PER_KG = 232.0
KELVIN = 273.2  # as the source rounds it


def heat_capacity(bean_c: float, moisture: float) -> float:
    """Heat capacity of moist beans, kJ/(kg K)."""
    return (1.099 + 0.0070 * bean_c + 5.0 * moisture) / (1.0 + moisture)


def drying_rate(bean_c: float, moisture: float, diameter_mm: float) -> float:
    """dX/dt in 1/s; never positive."""
    return -(4.32e9 * moisture * moisture / (diameter_mm * diameter_mm)) * math.exp(-9889.0 / (bean_c + KELVIN))


def reaction_heat(bean_c: float, released: float, total: float = REACTION_HEAT_KJ_PER_KG) -> float:
    """Heat of the browning reactions, kW per kg of dry bean; `released` is what has been given off so far, kJ/kg."""
    if released >= total:
        return 0.0
    return REACTION_FACTOR_KW_PER_KG * math.exp(-5500.0 / (bean_c + KELVIN)) * (total - released) / total


@dataclass
class Beans:
    """The load: its dry mass, temperature, moisture and spent reaction heat."""

    dry_kg: float
    bean_c: float
    moisture: float = 0.12
    diameter_mm: float = 6.0
    released: float = 0.0
    reaction_total: float = REACTION_HEAT_KJ_PER_KG

    def step(self, heat_in_kw: float, dt_s: float) -> None:
        """Advances by one small step with so much heat coming in."""
        drying = drying_rate(self.bean_c, self.moisture, self.diameter_mm)
        reaction = reaction_heat(self.bean_c, self.released, self.reaction_total)
        capacity = self.dry_kg * (1.0 + self.moisture) * heat_capacity(self.bean_c, self.moisture)
        gain = heat_in_kw + self.dry_kg * (reaction + LATENT_HEAT_KJ_PER_KG * drying)
        self.bean_c += gain / capacity * dt_s
        self.moisture = max(0.0, self.moisture + drying * dt_s)
        self.released += reaction * dt_s
