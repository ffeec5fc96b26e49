"""What a report is made from, and the unit it is shown in."""

from dataclasses import dataclass

from panchime.analysis.account import Account
from panchime.analysis.day_effect import Day, DayEffect, NotEnough
from panchime.journal.journal import RoastEntry
from panchime.journal.when import When
from panchime.terminal.words import NOTHING
from panchime_fw.plan import BEANS_IN
from panchime_fw.units import FAHRENHEIT


@dataclass(frozen=True)
class Shown:
    """How degC become what a page says: ``unit`` is C or F."""

    unit: str

    @property
    def fahrenheit(self) -> bool:
        """Whether the page is in degrees Fahrenheit."""
        return self.unit == FAHRENHEIT

    def value(self, celsius: float) -> float:
        """A temperature in the unit."""
        return celsius * 1.8 + 32.0 if self.fahrenheit else celsius

    def difference(self, celsius: float) -> float:
        """A difference of temperatures, or a rate, in the unit."""
        return celsius * 1.8 if self.fahrenheit else celsius

    def degrees(self, celsius: float | None, decimals: int = 1) -> str:
        """A temperature in words."""
        return NOTHING if celsius is None else f"{self.value(celsius):z.{decimals}f} °{self.unit}"

    def apart(self, celsius: float | None, decimals: int = 1, sign: str = "") -> str:
        """A difference of temperatures in words; ``sign`` "+" shows it always."""
        return NOTHING if celsius is None else f"{self.difference(celsius):{sign}z.{decimals}f} °{self.unit}"

    def rate(self, celsius_per_min: float | None) -> str:
        """A rate of rise in words."""
        return NOTHING if celsius_per_min is None else f"{self.difference(celsius_per_min):+z.1f} °{self.unit}/min"


@dataclass(frozen=True)
class RoastReport:
    """One roast with everything that is known of it. ``days`` and ``day_effect``: the own roasts of the same plan up to it."""

    entry: RoastEntry
    account: Account
    when: When
    day_c: float | None
    days: list[Day]
    day_effect: DayEffect | NotEnough

    @property
    def zero_ms(self) -> int:
        """The moment from which the page counts: beans in, or the start of the log."""
        beans_in = self.account.story.mark(BEANS_IN)
        return beans_in.t_ms if beans_in else 0

    @property
    def since(self) -> str:
        """What the page counts from, in words."""
        return BEANS_IN if self.account.story.mark(BEANS_IN) else "the start"
