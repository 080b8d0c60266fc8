"""Taking supplies out of stock and putting them back, safe for several at once."""

from decimal import Decimal

from django.db.models import F

from maintenance.core.units import show_number
from maintenance.households.refusals import Refused

from .models import StockUnit, Supply


def amount_words(amount: Decimal, unit: str) -> str:
    """“2 pieces”, “1 piece”, “4.5 qt”."""
    number = show_number(amount, places=2)
    if unit == StockUnit.PIECE:
        return f"{1} piece" if amount == 1 else f"{number} pieces"
    return f"{number}\N{NO-BREAK SPACE}{unit}"


def stock_words(supply: Supply) -> str:
    if supply.stock is None:
        return "always there, not counted"
    if supply.stock == 0:
        return "none left"
    return f"{amount_words(supply.stock, supply.unit)} in stock"


def take_out(supply: Supply, amount: Decimal, *, field: str = "") -> None:
    """Refused, naming what is there, where less is in stock; never below zero.

    What is not counted stays so. The caller holds the transaction.
    """
    if supply.stock is None:
        return
    taken = Supply.objects.filter(pk=supply.pk, stock__gte=amount).update(
        stock=F("stock") - amount
    )
    if not taken:
        supply.refresh_from_db(fields=["stock"])
        raise Refused(
            (
                f"“{supply}”: {stock_words(supply)}, but this job uses "
                f"{amount_words(amount, supply.unit)}. Enter less, or add "
                "stock first."
            ),
            field=field or None,
        )


def put_in(supply: Supply, amount: Decimal) -> None:
    """Bought, or back from work that was not done after all."""
    Supply.objects.filter(pk=supply.pk, stock__isnull=False).update(
        stock=F("stock") + amount
    )
