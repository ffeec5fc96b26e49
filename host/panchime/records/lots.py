"""Green lots: what was bought, and what the roasts have used of it."""

import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from panchime.errors import PanchimeError
from panchime.journal.database import Database, utc_ms
from panchime.records.money import Price, price_of
from panchime.terminal.near_words import did_you_mean

# Whole green beans keep one to three years, depending on how they are stored, and careful roasters go for much less
# (common practice, no source).
OLD_DAYS = 365
TOO_OLD_DAYS = 3 * 365
FEW_ROASTS = 2
BATCHES_LOOKED_AT = 10
# ICO resolution 420 and ISO 6673: green coffee is traded at 8 to 12.5 % moisture.
USUAL_MOISTURE_PERCENT = (8.0, 12.5)
# Beyond these something was mistyped; green beans have 550 to 700 g/L.
MOISTURE_PERCENT_BOUNDS = (1.0, 40.0)
DENSITY_G_PER_L_BOUNDS = (200.0, 1200.0)


@dataclass(frozen=True)
class GreenLot:
    """One purchase of green beans. What is not known is None; ``price`` stands as the person wrote it."""

    id: int
    name: str
    origin: str | None = None
    process: str | None = None
    crop: str | None = None
    bought_day: date | None = None
    bought_mg: int | None = None
    price: str | None = None
    moisture_percent: float | None = None
    density_g_per_l: float | None = None
    note: str | None = None
    finished_utc_ms: int | None = None

    @property
    def parsed_price(self) -> Price | None:
        """The price as an amount, None when there is none."""
        return None if self.price is None else price_of(self.price)


@dataclass(frozen=True)
class LotStock:
    """A lot and what is left of it. ``usual_batch_mg`` is the median of the last roasts, of this lot if there are any."""

    lot: GreenLot
    used_mg: int
    roasts: int
    usual_batch_mg: int | None

    @property
    def left_mg(self) -> int | None:
        """What is left, never below 0; None when nobody said how much was bought."""
        if self.lot.finished_utc_ms is not None:
            return 0
        return None if self.lot.bought_mg is None else max(0, self.lot.bought_mg - self.used_mg)

    @property
    def roasts_left(self) -> int | None:
        """How many usual batches that is, None when either is not known."""
        if self.left_mg is None or not self.usual_batch_mg:
            return None
        return self.left_mg // self.usual_batch_mg

    def warnings(self, today: date) -> list[str]:
        """What to know about the lot: its age, its end, moisture out of the usual."""
        found: list[str] = []
        lot = self.lot
        if lot.finished_utc_ms is not None:
            return found
        if lot.bought_day is not None:
            days = (today - lot.bought_day).days
            if days > TOO_OLD_DAYS:
                found.append(f"bought {age_words(days)} ago: older than whole green beans keep")
            elif days > OLD_DAYS:
                found.append(f"bought {age_words(days)} ago: green beans keep one to three years, many use them within one")
        if lot.bought_mg is not None and self.used_mg > lot.bought_mg:
            found.append("the roasts used more than was bought: is a weight or a lot wrong?")
        elif self.left_mg == 0:
            found.append("used up: finish it, or say how much was bought")
        elif self.roasts_left is not None and self.roasts_left <= FEW_ROASTS:
            found.append("not enough for another batch" if self.roasts_left == 0 else "runs out soon")
        low, high = USUAL_MOISTURE_PERCENT
        if lot.moisture_percent is not None and not low <= lot.moisture_percent <= high:
            found.append(f"moisture {lot.moisture_percent:g} % is outside the usual {low:g} to {high:g} %")
        return found


def age_words(days: int) -> str:
    """An age in days, months or years."""
    if days < 60:
        return f"{days} {'day' if days == 1 else 'days'}"
    months = days * 12 // 365
    return f"{months} months" if months < 24 else f"{months // 12} years"


class Lots:
    """The green lots of a journal. ``had_beans`` tells of a roast by its number whether beans went in: others use none up."""

    def __init__(self, database: Database, had_beans: Callable[[int], bool] = lambda number: True) -> None:
        self._database = database
        self._had_beans = had_beans

    def all(self) -> list[GreenLot]:
        """Every lot, finished ones too, in the order they were written down."""
        return [lot_of(row) for row in self._database.rows("SELECT * FROM green_lots ORDER BY id")]

    def by_id(self, lot_id: int) -> GreenLot:
        """The lot of that id."""
        return lot_of(self._database.rows("SELECT * FROM green_lots WHERE id = ?", (lot_id,))[0])

    def named(self, name: str) -> GreenLot:
        """The lot of that name; capitals do not matter, and a beginning that only one lot has is enough.

        Raises PanchimeError when there is none, or several begin so.
        """
        wanted = name.strip().casefold()
        lots = self.all()
        for lot in lots:
            if lot.name.casefold() == wanted:
                return lot
        begun = [lot for lot in lots if wanted and lot.name.casefold().startswith(wanted)]
        if len(begun) == 1:
            return begun[0]
        if begun:
            raise PanchimeError(f"{name!r} could be {' or '.join(repr(lot.name) for lot in begun)}: write more of the name")
        guess = did_you_mean(name.strip(), [lot.name for lot in lots])
        raise PanchimeError(
            f"there is no green lot {name!r}: 'panchime beans' lists them, 'panchime beans add' adds one{guess}"
        )

    def add(self, lot: GreenLot) -> GreenLot:
        """Writes a new lot down; its ``id`` is given. Raises PanchimeError when there is one of that name."""
        with self._database.transaction():
            self._refuse_taken(lot.name, but=None)
            columns = columns_of(lot)
            names, places = ", ".join(columns), ", ".join("?" * len(columns))
            answer = self._database.rows(
                f"INSERT INTO green_lots ({names}) VALUES ({places}) RETURNING id", tuple(columns.values())
            )
        return self.by_id(int(answer[0]["id"]))

    def change(self, lot: GreenLot) -> None:
        """Writes a lot anew. Raises PanchimeError when another one has its name."""
        with self._database.transaction():
            self._refuse_taken(lot.name, but=lot.id)
            columns = columns_of(lot)
            assignments = ", ".join(f"{name} = ?" for name in columns)
            self._database.rows(f"UPDATE green_lots SET {assignments} WHERE id = ?", (*columns.values(), lot.id))

    def finish(self, lot: GreenLot, finished: bool = True) -> None:
        """Says that a lot is used up (or is not, after all)."""
        with self._database.transaction():
            self._database.rows(
                "UPDATE green_lots SET finished_utc_ms = ? WHERE id = ?", (utc_ms() if finished else None, lot.id)
            )

    def remove(self, lot: GreenLot) -> None:
        """Forgets a lot. Raises PanchimeError when roasts were made of it: their record would lose its beans."""
        with self._database.transaction():
            roasts = self.roasts_of(lot)
            if roasts:
                numbers = ", ".join(str(number) for number in roasts)
                raise PanchimeError(
                    f"{lot.name!r} cannot be removed: roast {numbers} was made of it. "
                    "'panchime beans finish' says that it is used up"
                )
            self._database.rows("DELETE FROM green_lots WHERE id = ?", (lot.id,))

    def roasts_of(self, lot: GreenLot) -> list[int]:
        """The numbers of the roasts that were made of a lot."""
        rows = self._database.rows("SELECT roast_number FROM roast_records WHERE lot_id = ? ORDER BY roast_number", (lot.id,))
        return [int(row["roast_number"]) for row in rows]

    def stock(self, lot: GreenLot) -> LotStock:
        """What is left of a lot."""
        rows = self._database.rows(
            "SELECT roast_number, coalesce(green_mg, 0) AS green_mg FROM roast_records WHERE lot_id = ?", (lot.id,)
        )
        used = [int(row["green_mg"]) for row in rows if self._had_beans(row["roast_number"])]
        batch = self._usual_batch_mg("WHERE lot_id = ? AND green_mg IS NOT NULL", (lot.id,))
        if batch is None:
            batch = self._usual_batch_mg("WHERE green_mg IS NOT NULL", ())
        return LotStock(lot, sum(used), len(used), batch)

    def _usual_batch_mg(self, where: str, values: tuple[int, ...]) -> int | None:
        rows = self._database.rows(
            f"SELECT green_mg FROM roast_records {where} ORDER BY roast_number DESC LIMIT {BATCHES_LOOKED_AT}", values
        )
        from statistics import median

        return round(median(row["green_mg"] for row in rows)) if rows else None

    def _refuse_taken(self, name: str, but: int | None) -> None:
        for other in self.all():
            if other.id != but and other.name.casefold() == name.casefold():
                raise PanchimeError(
                    f"there is a green lot {other.name!r} already: edit that one, or give this one another name"
                )


def columns_of(lot: GreenLot) -> dict[str, object]:
    """A lot's columns, all but its id."""
    return {
        "name": lot.name,
        "origin": lot.origin,
        "process": lot.process,
        "crop": lot.crop,
        "bought_day": lot.bought_day.isoformat() if lot.bought_day else None,
        "bought_mg": lot.bought_mg,
        "price": lot.price,
        "moisture_percent": lot.moisture_percent,
        "density_g_per_l": lot.density_g_per_l,
        "note": lot.note,
        "finished_utc_ms": lot.finished_utc_ms,
    }


def lot_of(row: sqlite3.Row) -> GreenLot:
    """A row of ``green_lots`` as a lot."""
    values = dict(row)
    day = values.pop("bought_day")
    return GreenLot(**values, bought_day=date.fromisoformat(day) if day else None)
