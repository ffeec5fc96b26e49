"""What a person settles once, kept in the journal."""

import json
from typing import Any

from panchime.journal.database import Database


class Settings:
    """Named values; a value is anything JSON can hold."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def get(self, name: str) -> Any:
        """The value of that name, None when it was never set."""
        found = self._database.rows("SELECT value FROM settings WHERE name = ?", (name,))
        return json.loads(found[0]["value"]) if found else None

    def put(self, name: str, value: Any) -> None:
        """Keeps a value; None forgets the name."""
        with self._database.transaction():
            if value is None:
                self._database.rows("DELETE FROM settings WHERE name = ?", (name,))
            else:
                text = json.dumps(value, ensure_ascii=False, allow_nan=False)
                self._database.rows("INSERT OR REPLACE INTO settings VALUES (?, ?)", (name, text))

    def named(self, prefix: str) -> dict[str, Any]:
        """Every value whose name begins so, by what follows the prefix."""
        rows = self._database.rows("SELECT name, value FROM settings ORDER BY name")
        return {row["name"][len(prefix) :]: json.loads(row["value"]) for row in rows if row["name"].startswith(prefix)}
