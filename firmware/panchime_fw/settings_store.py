"""The settings on the board's flash: kept in two copies, changed one at a time, and what happens when they are damaged.

A board that was never told anything has the defaults. A board whose kept settings are there and cannot be used runs with the
defaults too, so that it still shows and sounds, but `is_damaged`: nobody knows then which amplifier it is wired to, and a
reading through the wrong decoder may be far too low, so its relay stays open until amplifier and thermocouple type have both
been named again.
"""

import json

from . import settings
from .scpi import errors

_MUST_BE_NAMED = ("amplifier", "thermocouple")


class SettingsError(Exception):
    """Why a change was not taken: an SCPI error number and words."""

    def __init__(self, number: int, words: str) -> None:
        super().__init__(number, words)
        self.number = number
        self.words = words


class SettingsStore:
    """`store` is a two-copy store with load(), save(text) and exists()."""

    def __init__(self, store) -> None:
        self._store = store
        self._named: list = []
        self.document = dict(settings.DEFAULTS)
        self.complaint = ""  # why the kept settings could not be used

    @property
    def is_damaged(self) -> bool:
        return self.complaint != ""

    def load(self) -> settings.Settings:
        """The kept settings, or the defaults when there are none or they do not pass."""
        text = self._store.load()
        if text is None:
            if self._store.exists():
                self.complaint = "both copies on the flash are damaged"
        else:
            self.complaint = self._read(text)
        return settings.Settings(self.document)

    def change(self, changes) -> settings.Settings:
        """Takes some keys anew and keeps the whole. Raises SettingsError, and then everything is as it was.

        Another amplifier or thermocouple type drops the calibration: it belonged to what was measured with.
        """
        document = dict(self.document)
        document.update(changes)
        if any(document[key] != self.document[key] for key in _MUST_BE_NAMED):
            document["calibration"] = None
        faults = settings.check(document)
        if faults:
            raise SettingsError(errors.SETTINGS_CONFLICT, faults[0])
        found = settings.Settings(document)
        named = [key for key in _MUST_BE_NAMED if key in changes or key in self._named]
        if self.is_damaged and len(named) < len(_MUST_BE_NAMED):
            if not named:
                raise SettingsError(
                    errors.SETTINGS_CONFLICT, "the kept settings are damaged: set the amplifier and the thermocouple type first"
                )
        elif not self._store.save(json.dumps(document)):
            raise SettingsError(errors.STORAGE_FAULT, "the settings could not be written to the flash; the old ones stay")
        else:
            self.complaint = ""
        self._named = named
        self.document = document
        return found

    def _read(self, text: str) -> str:
        """Takes over the kept document; answers what is wrong with it, "" when nothing is."""
        if len(text) > settings.JSON_BYTES_LIMIT:
            return "they are too long"
        try:
            document = json.loads(text)
        except ValueError:
            return "they are not JSON"
        if isinstance(document, dict):
            for key in settings.ADDED_LATER:
                document.setdefault(key, settings.DEFAULTS[key])
        faults = settings.check(document)
        if faults:
            return faults[0]
        self.document = document
        return ""
