"""Looking whether what the journal keeps is what was kept: the file's own structure, and every log by its checksum."""

import zlib
from dataclasses import dataclass, field

from panchime.journal.database import Database
from panchime.journal.story import HeadLost, tell

STRUCTURE_LINES = 20  # of what SQLite finds wrong, so many are told


@dataclass
class Verification:
    """How many logs are as they were kept, and a sentence for everything that is not."""

    sound: int = 0
    faults: list[str] = field(default_factory=list)


def verify(database: Database) -> Verification:
    """Reads all of the journal. Raises PanchimeError when the file cannot be read at all."""
    found = Verification()
    for row in database.rows(f"PRAGMA integrity_check({STRUCTURE_LINES})"):
        if row[0] != "ok":
            found.faults.append(f"the journal's file is damaged: {row[0]}")
    for row in database.rows("PRAGMA foreign_key_check"):
        found.faults.append(f"a row of {row[0]} belongs to nothing in {row[2]}")
    for row in database.rows(
        "SELECT r.number, r.raw, r.raw_crc32, r.boot, r.uptime_ms, b.serial "
        "FROM roasts r LEFT JOIN boards b ON b.id = r.board_id ORDER BY r.number"
    ):
        fault = fault_of(bytes(row["raw"]), row["raw_crc32"], (row["serial"], row["boot"], row["uptime_ms"]))
        if fault:
            found.faults.append(f"roast {row['number']}: {fault}")
        else:
            found.sound += 1
    return found


def fault_of(raw: bytes, kept_crc32: int | None, identity: tuple[str, int, int]) -> str:
    """What is wrong with one log; empty when nothing is. ``identity`` is board, boot and uptime in ms.

    Damage that was there when the log was pulled is no fault of the journal: it stands in the roast's own problems.
    """
    check = zlib.crc32(raw)
    if kept_crc32 is None:
        return "no checksum was kept with it"
    if check != kept_crc32:
        words = f"its log was changed in the journal (CRC-32 {check:08X}, kept was {kept_crc32:08X})"
        return f"{words}: restore a backup, or pull anew"
    try:
        story = tell(raw)
    except HeadLost as error:
        return str(error)
    if (story.board_serial, story.boot, story.uptime_ms) != identity:
        return "its log belongs to another roast than the journal says"
    return ""
