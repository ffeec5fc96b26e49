"""A roast that the journal does not have: which ones are nearest."""

from panchime.errors import PanchimeError
from panchime.journal.database import Database


def missing_roast(database: Database, number: int) -> PanchimeError:
    """The error for a number that no roast has."""
    below, above = (
        database.rows(f"SELECT {best}(number) AS number FROM roasts WHERE number {side} ?", (number,))[0]["number"]
        for best, side in (("max", "<"), ("min", ">"))
    )
    near = [str(one) for one in (below, above) if one is not None]
    if not near:
        return PanchimeError(f"the journal has no roast {number}, it is empty: 'panchime pull' fetches the roasts of a board")
    return PanchimeError(
        f"the journal has no roast {number}; the nearest {'is' if len(near) == 1 else 'are'} {' and '.join(near)}. "
        "'panchime roasts' lists all"
    )
