"""Prices as a person writes them: an amount, a currency in any spelling, and what it is for."""

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from panchime.errors import PanchimeError
from panchime.records.numbers import NUMBER, decimal_of
from panchime.records.weights import weight_mg

CURRENCY_LENGTH = 12


@dataclass(frozen=True)
class Money:
    """An amount of a currency; the currency is the person's own word or sign, "" when there was none."""

    amount: Decimal
    currency: str

    def times(self, factor: Decimal) -> "Money":
        """So many times the amount."""
        return Money(self.amount * factor, self.currency)

    def words(self, places: int = 2) -> str:
        """The amount with its currency: ``18.90 EUR``, ``$6.50``."""
        amount = str(self.amount.quantize(Decimal(1).scaleb(-places), ROUND_HALF_EVEN))
        if len(self.currency) == 1 and not self.currency.isalpha() and self.currency != "€":
            return f"{self.currency}{amount}"
        return f"{amount} {self.currency}".rstrip()


def plus(first: Money, second: Money) -> Money:
    """The sum. Raises PanchimeError for two currencies: what one is worth in the other changes by the day."""
    if same_currency(first, second):
        return Money(first.amount + second.amount, first.currency)
    raise PanchimeError(
        f"prices in {first.currency or 'no currency'!r} and in {second.currency or 'no currency'!r} cannot be added: "
        "write all prices in one currency, spelled the same way"
    )


def same_currency(first: Money, second: Money) -> bool:
    """Whether two amounts can be compared; capitals do not matter."""
    return first.currency.casefold() == second.currency.casefold()


@dataclass(frozen=True)
class Price:
    """So much money for a weight in milligrams; None: for the whole of what was bought."""

    money: Money
    for_mg: int | None

    def per_mg(self, whole_mg: int | None) -> Money | None:
        """The money for one milligram, None when the price is for a whole whose weight is not known."""
        divisor = self.for_mg or whole_mg
        return None if divisor is None else self.money.times(1 / Decimal(divisor))


def money_of(text: str, what: str = "the price") -> Money:
    """An amount such as ``18.90 EUR``, ``EUR 18,90`` or ``$6.50``. Raises PanchimeError when it is none."""
    found = NUMBER.findall(text)
    if len(found) != 1:
        raise PanchimeError(f"{what} {text!r} is no price: write an amount and a currency, like 18.90 EUR")
    currency = " ".join(text.replace(found[0], " ", 1).split())
    if len(currency) > CURRENCY_LENGTH or "-" in currency or not currency.isprintable():
        raise PanchimeError(
            f"{what} {text!r}: the currency must be at most {CURRENCY_LENGTH} letters or a sign, and a price is not negative"
        )
    return Money(decimal_of(found[0], what), currency)


def price_of(text: str, what: str = "the price") -> Price:
    """A price such as ``18.90 EUR`` (for the whole), ``18.90 EUR/kg``, ``$6.50 per lb`` or ``9 EUR / 250 g``.

    Raises PanchimeError when it is none.
    """
    amount, rest = divided(text)
    if rest is None:
        return Price(money_of(amount, what), None)
    weight = rest if re.match(r"\d", rest) else f"1 {rest}"
    return Price(money_of(amount, what), weight_mg(weight, what=f"what {what} is for:"))


def energy_price_of(text: str) -> Money:
    """The money for one kilowatt-hour, from ``0.32 EUR/kWh``. Raises PanchimeError when it is none."""
    amount, rest = divided(text)
    if rest is None or rest.lower() != "kwh":
        raise PanchimeError(f"the energy price {text!r} must be for a kilowatt-hour: write it like 0.32 EUR/kWh")
    return money_of(amount, "the energy price")


def divided(text: str) -> tuple[str, str | None]:
    """What stands before and after ``/`` or ``per``."""
    parts = re.split(r"\s*/\s*|\s+per\s+", text.strip(), maxsplit=1)
    return parts[0], parts[1].strip() if len(parts) > 1 else None
