"""What a roast costs: green beans, what they lost, and the heat; beside what a shop takes."""

from dataclasses import dataclass
from decimal import Decimal

from panchime.errors import PanchimeError
from panchime.journal.story import Story
from panchime.records.money import Money, Price, energy_price_of, money_of, plus, price_of, same_currency
from panchime.records.roast_record import RoastRecord
from panchime.records.settings import Settings

HUNDRED_GRAMS_MG = 100_000
MS_PER_HOUR = 3_600_000
USUAL_CUP_MG = 15_000  # 60 g a litre and a cup of a quarter of a litre (common practice, no source)
# Home roasting commonly saves a quarter to a half (common practice, no source).
COMMON_SAVING = (0.25, 0.50)
MOST_WATTS = 20_000

ENERGY_PRICE = "cost.energy_price"
WATTS = "cost.watts"
FUEL = "cost.fuel"
CUP_MG = "cost.cup_mg"
SHOP = "cost.shop"


@dataclass(frozen=True)
class Household:
    """What holds for every roast; None where the person has not said it.

    ``energy``: for one kilowatt-hour. ``fuel``: gas or anything else that heats one roast. ``shop``: with its weight.
    """

    energy: Money | None = None
    watts: int | None = None
    fuel: Money | None = None
    cup_mg: int = USUAL_CUP_MG
    shop: Price | None = None

    @property
    def shop_per_100_g(self) -> Money | None:
        """What the shop takes for 100 g."""
        per_mg = self.shop.per_mg(None) if self.shop else None
        return per_mg.times(Decimal(HUNDRED_GRAMS_MG)) if per_mg else None


@dataclass(frozen=True)
class RoastCost:
    """One roast's cost; None where something is not known, and ``missing`` says what."""

    number: int
    green: Money | None
    heat: Money | None
    per_100_g: Money | None
    per_cup: Money | None
    saving: float | None
    missing: tuple[str, ...]


def household(settings: Settings) -> Household:
    """What the person has settled."""
    energy, fuel, shop = settings.get(ENERGY_PRICE), settings.get(FUEL), settings.get(SHOP)
    return Household(
        energy=energy_price_of(energy) if energy else None,
        watts=settings.get(WATTS),
        fuel=money_of(fuel) if fuel else None,
        cup_mg=settings.get(CUP_MG) or USUAL_CUP_MG,
        shop=price_of(shop) if shop else None,
    )


def shop_price_text(text: str) -> str:
    """The text when it is a price for a weight. Raises PanchimeError when it is none."""
    if price_of(text, "the shop price").for_mg is None:
        raise PanchimeError(f"the shop price {text!r} must say for how much: write it like 9.90 EUR/250 g")
    return text.strip()


def roast_cost(record: RoastRecord, story: Story, house: Household) -> RoastCost:
    """What a roast cost. Prices in several currencies cannot be added: then that is what is missing."""
    missing: list[str] = []
    green = green_cost(record, missing)
    heat = heat_cost(record, story, house, missing)
    if not record.roasted_mg:
        missing.append("the roasted weight")
    if green and heat and not same_currency(green, heat):
        missing.append(f"the heat in the currency of the beans ({currency(heat)}, {currency(green)})")
        heat = None
    whole = plus(green, heat) if green and heat else green
    if whole is None or not record.roasted_mg:
        return RoastCost(record.number, green, heat, None, None, None, tuple(missing))
    per_mg = whole.times(1 / Decimal(record.roasted_mg))
    per_100_g = per_mg.times(Decimal(HUNDRED_GRAMS_MG))
    per_cup = per_mg.times(Decimal(house.cup_mg))
    shop = house.shop_per_100_g
    if shop and not same_currency(per_100_g, shop):
        missing.append(f"the shop price in the currency of the beans ({currency(shop)}, {currency(per_100_g)})")
        shop = None
    return RoastCost(record.number, green, heat, per_100_g, per_cup, saving(per_100_g, shop), tuple(missing))


def currency(money: Money) -> str:
    """The person's word for a currency."""
    return money.currency or "none named"


def green_cost(record: RoastRecord, missing: list[str]) -> Money | None:
    """What the green beans cost."""
    if record.lot is None:
        missing.append("the lot")
        return None
    price = record.lot.parsed_price
    if price is None:
        missing.append("the lot's price")
        return None
    per_mg = price.per_mg(record.lot.bought_mg)
    if per_mg is None:
        missing.append("how much of the lot was bought")
    if not record.green_mg:
        missing.append("the green weight")
    return per_mg.times(Decimal(record.green_mg)) if per_mg and record.green_mg else None


def heat_cost(record: RoastRecord, story: Story, house: Household, missing: list[str]) -> Money | None:
    """What the heat cost: as said for this roast, else by the time on the relay, else as said for every roast."""
    if record.fuel_price is not None:
        return money_of(record.fuel_price)
    closed_ms = sum(end_ms - begin_ms for begin_ms, end_ms in story.closed_spans)
    if closed_ms and house.energy and house.watts:
        return house.energy.times(Decimal(house.watts) * closed_ms / MS_PER_HOUR / 1000)
    if house.fuel is not None:
        return house.fuel
    missing.append("the heat")
    return None


def saving(own: Money, shop: Money | None) -> float | None:
    """The part of the shop's price that is saved, negative when the own roast costs more; both in one currency."""
    if shop is None or not shop.amount:
        return None
    return float(1 - own.amount / shop.amount)


def saving_words(part: float) -> str:
    """Where one stands."""
    low, high = COMMON_SAVING
    percent = f"{abs(part) * 100:.0f} %"
    if part < 0:
        return f"{percent} dearer than the shop"
    if part < low:
        return f"{percent} cheaper than the shop: less than the quarter to a half that home roasting commonly saves"
    if part <= high:
        return f"{percent} cheaper than the shop: home roasting commonly saves a quarter to a half"
    return f"{percent} cheaper than the shop: more than the half that home roasting saves at most, as a rule"
