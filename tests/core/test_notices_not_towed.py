"""After “not towed since”: silence about what is due by expectation, and what ends it.

The rule is of the design, section 4.1. Said on May 10, silence lasts to May 23.
"""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from maintenance.core.facts import (
    Meter,
    MeterPoint,
    NotTowed,
    Reading,
    Rig,
    Standing,
    TowVehicle,
    Trip,
    Window,
)
from maintenance.core.notices import (
    ItemNow,
    Key,
    Person,
    Told,
    next_day,
    notices_now,
    silent_until,
    still_true,
)

SAID = date(2026, 5, 10)
OVER = date(2026, 5, 24)
ANN = Person(1)
TOLD_OF = Trip(
    date(2026, 4, 1), date(2026, 4, 3), tow="mule", told=((SAID, Decimal(9)),)
)


def at(day: int) -> date:
    return date(2026, 5, day)


def read(*readings: tuple[int, int]) -> TowVehicle:
    return TowVehicle(
        Meter("mi", tuple(Reading(at(day), Decimal(value)) for day, value in readings))
    )


def rig(*trips: Trip, said: tuple[date, ...] = (SAID,), tow: TowVehicle | None = None):
    return Rig(
        meters={"towed": Meter("mi")},
        items=(),
        trips=(TOLD_OF, *trips),
        not_towed=tuple(NotTowed(on, date(2026, 4, 3)) for on in said),
        tow_vehicles={"mule": tow or read((1, 40000))},
    )


@pytest.mark.parametrize(
    ("known", "as_of", "until"),
    [
        (rig(said=()), SAID, None),
        (rig(), at(9), None),  # nobody has said it yet
        (rig(), SAID, OVER),
        (rig(), at(23), OVER),
        (rig(), OVER, None),
        # Said again, it counts from then; the order of entry is no matter.
        (rig(said=(at(20), SAID)), at(25), date(2026, 6, 3)),
        # A trip that starts ends it, on the very day as well; one before does not.
        (rig(Trip(at(12), at(14), tow="mule", planned=True)), at(11), OVER),
        (rig(Trip(at(12), at(14), tow="mule", planned=True)), at(12), None),
        (rig(Trip(SAID, at(14), tow="mule", planned=True)), SAID, None),
        (rig(Trip(at(8), at(14), tow="mule", planned=True)), at(12), OVER),
        # So does the tow vehicle's odometer once it moves; one that stands does not.
        (rig(tow=read((1, 40000), (15, 40000))), at(16), OVER),
        (rig(tow=read((1, 40000), (15, 40001))), at(16), None),
        (rig(tow=read((1, 40000), (10, 40200))), at(16), OVER),
        (rig(tow=read((10, 40200), (15, 40200))), at(16), OVER),
        # Where nothing told of it before, nobody knows that it stood.
        (rig(tow=read((15, 40200))), at(16), None),
    ],
)
def test_silent_until(known: Rig, as_of: date, until: date | None) -> None:
    assert silent_until(known, as_of) == until


def test_silent_until_of_a_car_that_is_towed_counts_the_trips_behind_alone() -> None:
    """One that it drove by itself is no trip on which it was towed."""
    alone = Trip(at(12), at(14), distance=Decimal(50))
    behind = Trip(at(12), at(14), distance=Decimal(50), only_towed=True)
    for trip, until in ((alone, OVER), (behind, None)):
        car = Rig(
            meters={"odometer": Meter("mi"), "towed": Meter("mi")},
            items=(),
            trips=(trip,),
            not_towed=(NotTowed(SAID, SAID),),
        )
        assert silent_until(car, at(13)) == until


def check(
    *,
    expected: bool = True,
    until: date | None = OVER,
    meter: str = "towed",
    **more: object,
) -> ItemNow:
    """A wheel check by towed miles, due by expectation until a reading tells."""
    point = MeterPoint(meter, Decimal(150))
    standing = Standing(
        key="lug_recheck",
        standing="due",
        governing="after_event",
        expected=expected,
        window=Window(MeterPoint(meter, Decimal(100)), point),
    )
    return ItemNow(7, 70, standing, safety=True, silent_until=until, **more)


DUE = Key(7, "after_event:towed:150", "due", 1)


def test_due_by_expectation_stays_due_and_is_not_told_anew_in_the_silence() -> None:
    item = check()
    assert notices_now([item], [ANN], [], as_of=SAID) == ()
    assert notices_now([item], [ANN], [], as_of=OVER - timedelta(1)) == ()
    assert [one.key for one in notices_now([item], [ANN], [], as_of=OVER)] == [DUE]
    # What was raised before it was said, and waits for the digest, still holds.
    assert still_true(DUE, item, ANN, as_of=SAID)


def test_its_repeats_are_silent_too_and_come_back_as_one() -> None:
    told = [Told(DUE, at(9))]
    assert notices_now([check()], [ANN], told, as_of=at(12)) == ()
    assert [
        one.key.number for one in notices_now([check()], [ANN], told, as_of=OVER)
    ] == [4]  # of those 0, 1, 3, 7 and 14 days after the first, the last


def test_what_is_due_by_a_reading_is_told_all_the_same() -> None:
    known = check(expected=False)
    assert [one.key for one in notices_now([known], [ANN], [], as_of=SAID)] == [DUE]


def test_what_is_due_because_the_rig_was_probably_driven_is_told_all_the_same() -> None:
    for meter in ("odometer", "wheel_distance"):
        assert len(notices_now([check(meter=meter)], [ANN], [], as_of=SAID)) == 1


def test_an_event_that_happens_in_the_silence_is_told_at_once() -> None:
    wheel_off = check(events=("9",))
    (notice,) = notices_now([wheel_off], [ANN], [], as_of=SAID)
    assert (notice.key.stage, notice.at_once) == ("safety", True)


def test_next_day_is_the_end_of_the_silence() -> None:
    told = [Told(DUE, at(9))]
    assert next_day([check()], [ANN], told, as_of=SAID) == OVER
