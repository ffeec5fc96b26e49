"""Where Panchime keeps its data on this computer."""

import os
from pathlib import Path

from panchime.errors import PanchimeError

VARIABLE = "PANCHIME_HOME"


def data_folder() -> Path:
    """The data folder, made if it is not there yet: ``PANCHIME_HOME`` if set, else the system's usual place.

    Raises PanchimeError when it cannot be made.
    """
    named = os.environ.get(VARIABLE)
    if named:
        folder = Path(named).expanduser()
    else:
        import platformdirs

        folder = platformdirs.user_data_path("panchime", appauthor=False)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise PanchimeError(
            f"the data folder {folder} cannot be made ({error.strerror}): set {VARIABLE} to a folder you may write to"
        ) from error
    return folder


def journal_file() -> Path:
    """The journal's database file."""
    return data_folder() / "journal.sqlite"


def virtual_folder() -> Path:
    """Where running virtual boards say how to reach them, one JSON file a board."""
    return data_folder() / "virtual"
