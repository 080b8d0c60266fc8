"""The amounts of an invoice, held against each other."""

from collections.abc import Iterator
from decimal import Decimal

from .models import PartUsed, ServiceRecord


def sum_doubts(record: ServiceRecord) -> Iterator[str]:
    """What does not add up, in sentences. Invoices carry fees and discounts, so this
    asks and blocks nothing."""
    parts = _sum_of_parts(list(record.parts_used.all()))
    if parts is not None and record.parts is not None and parts != record.parts:
        yield (
            f"The parts listed add up to {parts}, but the amount for parts is "
            f"{record.parts}."
        )
    known = [x for x in (record.labor, record.parts, record.tax) if x is not None]
    total = sum(known, Decimal(0))
    if known and record.total is not None and total != record.total:
        yield (
            f"Labor, parts, and tax add up to {total}, but the total is "
            f"{record.total}. "
            "Check the invoice for a fee, a discount, or a typo."
        )


def _sum_of_parts(parts: list[PartUsed]) -> Decimal | None:
    """None where a price is missing: the sum would say nothing."""
    costs = [part.cost for part in parts]
    if not costs or None in costs:
        return None
    return sum((cost for cost in costs if cost is not None), Decimal(0))
