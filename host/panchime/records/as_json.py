"""The person's records for other programs, as docs/json.md describes them: grams, degC, milliseconds, UTC."""

from datetime import date
from typing import Any

from panchime.journal.as_json import celsius, when_as_json
from panchime.records.cost import Household, RoastCost, saving_words
from panchime.records.loss import is_plausible, loss_words
from panchime.records.lots import GreenLot, LotStock
from panchime.records.money import Money
from panchime.records.readiness import Readiness
from panchime.records.roast_record import RoastRecord, Tasting
from panchime.terminal.words import iso


def grams(mg: int | None) -> float | None:
    """Milligrams as grams."""
    return None if mg is None else mg / 1000


def lot_as_json(lot: GreenLot) -> dict[str, Any]:
    """One green lot."""
    return {
        "name": lot.name,
        "origin": lot.origin,
        "process": lot.process,
        "crop": lot.crop,
        "bought_on": lot.bought_day.isoformat() if lot.bought_day else None,
        "bought_g": grams(lot.bought_mg),
        "price": lot.price,
        "moisture_percent": lot.moisture_percent,
        "density_g_per_l": lot.density_g_per_l,
        "note": lot.note,
        "finished_utc": iso(lot.finished_utc_ms),
    }


def stock_as_json(stock: LotStock, today: date) -> dict[str, Any]:
    """One green lot with what is left of it."""
    return lot_as_json(stock.lot) | {
        "roasts": stock.roasts,
        "used_g": grams(stock.used_mg),
        "left_g": grams(stock.left_mg),
        "usual_batch_g": grams(stock.usual_batch_mg),
        "roasts_left": stock.roasts_left,
        "warnings": stock.warnings(today),
    }


def record_as_json(record: RoastRecord) -> dict[str, Any]:
    """What was written down about one roast."""
    said = record.said_when
    return {
        "number": record.number,
        "lot": record.lot.name if record.lot else None,
        "green_g": grams(record.green_mg),
        "roasted_g": grams(record.roasted_mg),
        "loss": record.loss,
        "loss_plausible": None if record.loss is None else is_plausible(record.loss),
        "loss_words": None if record.loss is None else loss_words(record.loss),
        "used_g": grams(record.used_mg),
        "left_g": grams(record.left_mg),
        "degree": record.degree,
        "day_temperature_c": celsius(record.day_temperature_centi),
        "said_when": {"text": said.text, "from_utc": iso(said.from_utc_ms), "to_utc": iso(said.to_utc_ms)} if said else None,
        "fuel_price": record.fuel_price,
        "notes": [{"text": note.text, "written_utc": iso(note.written_utc_ms)} for note in record.notes],
        "photos": [{"name": photo.name, "media_type": photo.media_type, "bytes": photo.bytes} for photo in record.photos],
        "tastings": [tasting_as_json(tasting) for tasting in record.tastings],
        "mark_corrections": [{"name": correction.name, "t_ms": correction.t_ms} for correction in record.corrections],
        "imported_from": record.imported_from,
    }


def tasting_as_json(tasting: Tasting) -> dict[str, Any]:
    """One tasting."""
    return {
        "day": tasting.day.isoformat(),
        "words": tasting.words,
        "scores": [{"scale": score.scale, "value": score.value, "highest": score.highest} for score in tasting.scores],
    }


def readiness_as_json(roast: Readiness) -> dict[str, Any]:
    """How far one roast has rested."""
    return {
        "number": roast.entry.number,
        "lot": roast.record.lot.name if roast.record.lot else None,
        "degree": roast.record.degree,
        "when": when_as_json(roast.when),
        "days": None if roast.days is None else {"fewest": roast.days[0], "most": roast.days[1]},
        "kind": roast.kind,
        "state": roast.state,
        "window_days": [roast.window.from_days, roast.window.to_days],
        "best_from": roast.best_from.isoformat() if roast.best_from else None,
        "best_until": roast.best_until.isoformat() if roast.best_until else None,
        "left_g": grams(roast.record.left_mg),
    }


def money_as_json(money: Money | None) -> dict[str, Any] | None:
    """An amount with its currency; the amount is text, so that no digit is lost."""
    return None if money is None else {"amount": format(money.amount.normalize(), "f"), "currency": money.currency}


def cost_as_json(cost: RoastCost) -> dict[str, Any]:
    """What one roast cost."""
    return {
        "number": cost.number,
        "green": money_as_json(cost.green),
        "heat": money_as_json(cost.heat),
        "per_100_g": money_as_json(cost.per_100_g),
        "per_cup": money_as_json(cost.per_cup),
        "saving": cost.saving,
        "saving_words": None if cost.saving is None else saving_words(cost.saving),
        "missing": list(cost.missing),
    }


def household_as_json(house: Household) -> dict[str, Any]:
    """What holds for every roast."""
    return {
        "energy_per_kwh": money_as_json(house.energy),
        "watts": house.watts,
        "fuel_per_roast": money_as_json(house.fuel),
        "cup_g": grams(house.cup_mg),
        "shop_per_100_g": money_as_json(house.shop_per_100_g),
    }
