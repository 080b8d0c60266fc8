"""What the worked cases cannot show of meters: which figure was likely meant."""

from datetime import date
from decimal import Decimal

from maintenance.core.meters.explain import explain_doubtful

from maintenance.core.facts import Meter, Reading, Replacement

D = date.fromisoformat


def read(on: str, value: int) -> Reading:
    return Reading(D(on), Decimal(value))


def meant(meter: Meter, reading: Reading) -> object:
    causes = {fact.key: fact for fact in explain_doubtful(meter, reading)}
    return causes["cause_typing_slip"].values["meant"]


def test_a_meter_replaced_later_does_not_change_what_was_meant() -> None:
    """By even use 60,000 - 59,000 x 86 / 517 = 50,186 on 7 Mar 2024: of 34,000, 34,500,
    35,000 and 45,000 (one digit too many in 345,000) the last is nearest."""
    slip = read("2024-03-07", 345000)
    old = (read("2023-01-01", 1000), read("2024-06-01", 60000))
    assert meant(Meter("mi", old), slip) == 45000
    replaced = Replacement(D("2025-01-01"), Decimal(90000), Decimal(0))
    meter = Meter("mi", (*old, read("2026-01-01", 500)), (replaced,))
    assert meant(meter, slip) == 45000


def test_the_last_reading_of_the_meter_before_is_no_measure_for_the_new_one() -> None:
    """The new one starts at 0, so of 1,000, 5,000 and 5,100 (one digit too many in
    51,000) the least is nearest; 89,995 as such lies nearest to 5,100."""
    replaced = Replacement(D("2025-01-01"), Decimal(90000), Decimal(0))
    meter = Meter("mi", (read("2024-12-31", 89995),), (replaced,))
    assert meant(meter, read("2025-01-05", 51000)) == 1000
