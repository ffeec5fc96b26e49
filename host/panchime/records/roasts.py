"""The person's records of roasts: reading and writing them."""

import json
import sqlite3
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from panchime.errors import PanchimeError
from panchime.journal.database import Database, utc_ms
from panchime.journal.missing import missing_roast
from panchime.records.corrections import Correction
from panchime.records.lots import GreenLot, Lots
from panchime.records.moments import SaidWhen
from panchime.records.photos import PhotoFile
from panchime.records.roast_record import Note, Photo, RoastRecord, Score, Tasting


class RoastRecords:
    """The records of the journal's roasts. Writing raises PanchimeError for a roast that the journal does not have."""

    def __init__(self, database: Database, lots: Lots) -> None:
        self._database = database
        self._lots = lots

    def of(self, number: int) -> RoastRecord:
        """What was written down about a roast; an empty record when nothing was."""
        return self._read("= ?", number).get(number) or RoastRecord(number)

    def of_all(self, first: int = 0) -> dict[int, RoastRecord]:
        """The records of all roasts that have one, by the roast's number; of those from ``first`` on."""
        return self._read(">= ?", first)

    def _read(self, which: str, number: int) -> dict[int, RoastRecord]:
        """The records of the roasts whose number is so to a number: a few questions, however many roasts there are."""

        def rows(table: str, columns: str) -> dict[int, list[sqlite3.Row]]:
            statement = f"SELECT roast_number, {columns} FROM {table} WHERE roast_number {which} ORDER BY rowid"
            found: dict[int, list[sqlite3.Row]] = {}
            for row in self._database.rows(statement, (number,)):
                found.setdefault(row["roast_number"], []).append(row)
            return found

        said = rows("roast_records", "*")
        notes = rows("notes", "id, text, written_utc_ms")
        photos = rows("photos", "id, name, media_type, length(raw) AS bytes")
        tastings = rows("tastings", "id, day, words, scores")
        corrections = rows("mark_corrections", "name, t_ms")
        uses = rows("roasted_uses", "used_mg")
        imported = rows("imported_files", "name")
        lots = {lot.id: lot for lot in self._lots.all()} if said else {}
        return {
            roast: RoastRecord(
                roast,
                **(said_in(said[roast][0], lots) if roast in said else {}),
                notes=tuple(Note(row["id"], row["text"], row["written_utc_ms"]) for row in notes.get(roast, ())),
                photos=tuple(Photo(row["id"], row["name"], row["media_type"], row["bytes"]) for row in photos.get(roast, ())),
                tastings=tuple(tasting_of(row) for row in tastings.get(roast, ())),
                corrections=tuple(Correction(row["name"], row["t_ms"]) for row in corrections.get(roast, ())),
                used_mg=sum(row["used_mg"] for row in uses.get(roast, ())),
                imported_from=imported[roast][0]["name"] if roast in imported else None,
            )
            for roast in sorted({*said, *notes, *photos, *tastings, *corrections, *uses, *imported})
        }

    def say(
        self,
        number: int,
        *,
        green_mg: int | None = None,
        roasted_mg: int | None = None,
        lot: GreenLot | None = None,
        degree: str | None = None,
        day_temperature_centi: int | None = None,
        said_when: SaidWhen | None = None,
        fuel_price: str | None = None,
    ) -> None:
        """Writes down whatever is not None; the rest stays."""
        columns: dict[str, Any] = {
            "green_mg": green_mg,
            "roasted_mg": roasted_mg,
            "lot_id": lot.id if lot else None,
            "degree": degree,
            "day_temperature_centi": day_temperature_centi,
            "fuel_price": fuel_price,
        }
        if said_when is not None:
            columns |= {
                "said_when": said_when.text,
                "said_from_utc_ms": said_when.from_utc_ms,
                "said_to_utc_ms": said_when.to_utc_ms,
            }
        changes = {name: value for name, value in columns.items() if value is not None}
        with self._writing(number):
            self._database.rows("INSERT OR IGNORE INTO roast_records (roast_number) VALUES (?)", (number,))
            for name, value in changes.items():
                self._database.rows(f"UPDATE roast_records SET {name} = ? WHERE roast_number = ?", (value, number))

    def forget(self, number: int, columns: Sequence[str]) -> None:
        """Forgets some of what ``say`` wrote, by the names of its arguments."""
        names = {"lot": ("lot_id",), "said_when": ("said_when", "said_from_utc_ms", "said_to_utc_ms")}
        with self._writing(number):
            for column in columns:
                for name in names.get(column, (column,)):
                    self._database.rows(f"UPDATE roast_records SET {name} = NULL WHERE roast_number = ?", (number,))

    def add_note(self, number: int, text: str) -> None:
        """Adds words."""
        with self._writing(number):
            self._database.rows(
                "INSERT INTO notes (roast_number, text, written_utc_ms) VALUES (?, ?, ?)", (number, text, utc_ms())
            )

    def remove_note(self, number: int, place: int) -> None:
        """Removes the note at a place in the roast's list, the first is 1. Raises PanchimeError when there is none."""
        self._remove("notes", number, place, "note")

    def add_photo(self, number: int, photo: PhotoFile) -> None:
        """Keeps a picture."""
        with self._writing(number):
            self._database.rows(
                "INSERT INTO photos (roast_number, name, media_type, raw, kept_utc_ms) VALUES (?, ?, ?, ?, ?)",
                (number, photo.name, photo.media_type, photo.raw, utc_ms()),
            )

    def remove_photo(self, number: int, place: int) -> None:
        """Removes the photo at a place in the roast's list, the first is 1. Raises PanchimeError when there is none."""
        self._remove("photos", number, place, "photo")

    def photo_raw(self, photo: Photo) -> bytes:
        """A picture's bytes."""
        return bytes(self._database.rows("SELECT raw FROM photos WHERE id = ?", (photo.id,))[0]["raw"])

    def add_tasting(self, number: int, day: date, words: str, scores: Sequence[Score]) -> None:
        """Adds a tasting."""
        kept = json.dumps([[score.scale, score.value, score.highest] for score in scores], ensure_ascii=False, allow_nan=False)
        with self._writing(number):
            self._database.rows(
                "INSERT INTO tastings (roast_number, day, words, scores, written_utc_ms) VALUES (?, ?, ?, ?, ?)",
                (number, day.isoformat(), words, kept, utc_ms()),
            )

    def remove_tasting(self, number: int, place: int) -> None:
        """Removes the tasting at a place in the roast's list, the first is 1. Raises PanchimeError when there is none."""
        self._remove("tastings", number, place, "tasting")

    def scales(self) -> dict[str, float | None]:
        """The scales used so far, by name, and the upper end each one had last."""
        found: dict[str, float | None] = {}
        for row in self._database.rows("SELECT scores FROM tastings ORDER BY id"):
            for name, _, highest in json.loads(row["scores"]):
                found[name] = highest
        return found

    def corrections(self, number: int) -> tuple[Correction, ...]:
        """The person's word on a roast's marks."""
        return tuple(Correction(row["name"], row["t_ms"]) for row in self._of("mark_corrections", "name, t_ms", number))

    def corrected_numbers(self) -> set[int]:
        """The numbers of the roasts whose marks the person corrected."""
        return {row[0] for row in self._database.rows("SELECT DISTINCT roast_number FROM mark_corrections")}

    def correct(self, number: int, correction: Correction) -> None:
        """Takes the person's word on a mark; what the board recorded stays in the log."""
        with self._writing(number):
            self._database.rows(
                "INSERT OR REPLACE INTO mark_corrections VALUES (?, ?, ?, ?)",
                (number, correction.name, correction.t_ms, utc_ms()),
            )

    def withdraw(self, number: int, name: str) -> None:
        """Takes a correction back: the mark is again what the board recorded."""
        with self._writing(number):
            self._database.rows("DELETE FROM mark_corrections WHERE roast_number = ? AND name = ?", (number, name))

    def use(self, number: int, used_mg: int) -> None:
        """So much of the roasted coffee was used."""
        with self._writing(number):
            self._database.rows(
                "INSERT INTO roasted_uses (roast_number, used_mg, used_utc_ms) VALUES (?, ?, ?)", (number, used_mg, utc_ms())
            )

    def _of(self, table: str, columns: str, number: int) -> list[sqlite3.Row]:
        return self._database.rows(f"SELECT {columns} FROM {table} WHERE roast_number = ? ORDER BY rowid", (number,))

    def _remove(self, table: str, number: int, place: int, what: str) -> None:
        with self._writing(number):
            rows = self._of(table, "id", number)
            if not 1 <= place <= len(rows):
                has = f"{len(rows)}" if rows else "none"
                raise PanchimeError(f"roast {number} has no {what} {place}: it has {has}, 'panchime note {number}' shows them")
            self._database.rows(f"DELETE FROM {table} WHERE id = ?", (rows[place - 1]["id"],))

    def _writing(self, number: int) -> "Writing":
        return Writing(self._database, number)


class Writing:
    """A transaction over the records of a roast that is there."""

    def __init__(self, database: Database, number: int) -> None:
        self._database = database
        self._number = number

    def __enter__(self) -> None:
        if not self._database.rows("SELECT 1 FROM roasts WHERE number = ?", (self._number,)):
            raise missing_roast(self._database, self._number)
        self._transaction = self._database.transaction()
        self._transaction.__enter__()

    def __exit__(self, *failure: Any) -> None:
        self._transaction.__exit__(*failure)


def said_in(row: sqlite3.Row, lots: Mapping[int, GreenLot]) -> dict[str, Any]:
    """What a row of ``roast_records`` says, by the names of a record's fields."""
    found: dict[str, Any] = {
        key: row[key] for key in ("green_mg", "roasted_mg", "degree", "day_temperature_centi", "fuel_price")
    }
    found["lot"] = None if row["lot_id"] is None else lots[row["lot_id"]]
    if row["said_when"] is not None:
        found["said_when"] = SaidWhen(row["said_when"], row["said_from_utc_ms"], row["said_to_utc_ms"])
    return found


def tasting_of(row: sqlite3.Row) -> Tasting:
    """A row of ``tastings`` as a tasting."""
    scores = tuple(Score(scale, value, highest) for scale, value, highest in json.loads(row["scores"]))
    return Tasting(row["id"], date.fromisoformat(row["day"]), row["words"], scores)
