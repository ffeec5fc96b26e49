"""What a person wrote down about one roast."""

from dataclasses import dataclass
from datetime import date

from panchime.records.corrections import Correction
from panchime.records.lots import GreenLot
from panchime.records.moments import SaidWhen


@dataclass(frozen=True)
class Note:
    """Words about a roast, and when they were written down."""

    id: int
    text: str
    written_utc_ms: int


@dataclass(frozen=True)
class Photo:
    """A kept picture, without its bytes."""

    id: int
    name: str
    media_type: str
    bytes: int


@dataclass(frozen=True)
class Score:
    """A number on a scale that the person named; ``highest`` is the scale's upper end, None when none was said."""

    scale: str
    value: float
    highest: float | None

    @property
    def words(self) -> str:
        """The score as people write it: ``sweetness 7/10``."""
        return f"{self.scale} {self.value:g}" + (f"/{self.highest:g}" if self.highest is not None else "")


@dataclass(frozen=True)
class Tasting:
    """One tasting: its day, free words ("" when there are only scores), and scores."""

    id: int
    day: date
    words: str
    scores: tuple[Score, ...]


@dataclass(frozen=True)
class RoastRecord:
    """Everything a person wrote down about one roast; what was not said is None or empty.

    ``fuel_price`` is what its fuel cost, as the person wrote it. ``imported_from`` names the file of a roast that was logged
    by hand.
    """

    number: int
    lot: GreenLot | None = None
    green_mg: int | None = None
    roasted_mg: int | None = None
    degree: str | None = None
    day_temperature_centi: int | None = None
    said_when: SaidWhen | None = None
    fuel_price: str | None = None
    notes: tuple[Note, ...] = ()
    photos: tuple[Photo, ...] = ()
    tastings: tuple[Tasting, ...] = ()
    corrections: tuple[Correction, ...] = ()
    used_mg: int = 0
    imported_from: str | None = None

    @property
    def loss(self) -> float | None:
        """The part of the green weight that the roast lost, None when a weight is missing."""
        if not self.green_mg or self.roasted_mg is None:
            return None
        return (self.green_mg - self.roasted_mg) / self.green_mg

    @property
    def left_mg(self) -> int | None:
        """How much roasted coffee is left, never below 0; None when it was not weighed."""
        return None if self.roasted_mg is None else max(0, self.roasted_mg - self.used_mg)

    @property
    def is_empty(self) -> bool:
        """Whether nothing was written down."""
        return self == RoastRecord(self.number)
