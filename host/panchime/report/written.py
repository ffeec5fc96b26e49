"""What a person wrote down about a roast, as pairs of a name and words."""

from panchime.records.roast_record import RoastRecord, Tasting
from panchime.records.weights import weight_words
from panchime.report.view import Shown
from panchime.terminal.words import moment


def written_down(record: RoastRecord, shown: Shown) -> list[tuple[str, str]]:
    """Lot, weights, notes, tastings and the rest, as far as the person said them."""
    found: list[tuple[str, str]] = []
    if record.lot is not None:
        parts = (record.lot.name, record.lot.origin, record.lot.process, record.lot.crop)
        found.append(("green beans", ", ".join(part for part in parts if part)))
    if record.green_mg is not None or record.roasted_mg is not None:
        words = f"{weight_words(record.green_mg)} green, {weight_words(record.roasted_mg)} roasted"
        if record.loss is not None:
            words += f": {record.loss * 100:.1f} % lost"
        found.append(("weight", words))
    if record.degree:
        found.append(("degree", record.degree))
    if record.day_temperature_centi is not None:
        found.append(("the day", shown.degrees(record.day_temperature_centi / 100)))
    if record.fuel_price:
        found.append(("fuel", record.fuel_price))
    found += [(f"note of {moment(note.written_utc_ms)}", note.text) for note in record.notes]
    found += [(f"tasted on {tasting.day.isoformat()}", tasting_words(tasting)) for tasting in record.tastings]
    if record.photos:
        found.append(("photos", ", ".join(photo.name for photo in record.photos)))
    if record.imported_from:
        found.append(("logged by hand, read from", record.imported_from))
    return found


def tasting_words(tasting: Tasting) -> str:
    """The scores, then the words."""
    scores = ", ".join(score.words for score in tasting.scores)
    return "\n".join(part for part in (scores, tasting.words) if part)
