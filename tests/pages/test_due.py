"""Due: the order of urgency, words and shape, and a budget of queries."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from maintenance.findings.models import Finding
from maintenance.plans.models import Deferral
from maintenance.plans.services import take_on
from maintenance.plans.standings import renew_household
from maintenance.reminders.models import StoppedAddress
from maintenance.service_records.models import UnfiledPhoto
from maintenance.vehicles.services import report_event
from tests import builders
from tests.builders import TODAY


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 12:00", "America/Denver")
    return builders.make_member()


def due_page(client_as, keeper):
    renew_household(keeper.household, as_of=TODAY)
    return client_as(keeper).get(reverse("due")).content.decode()


def dated(rig, key, on, **fields):
    """An item whose twelve months began on a day."""
    return builders.make_item(rig, key, baseline="stated", baseline_on=on, **fields)


def test_due_without_a_rig_says_what_to_do_first(client_as, keeper):
    page = due_page(client_as, keeper)

    assert "No rig yet" in page
    assert reverse("add_rig") in page


def test_due_with_nothing_due_says_so(client_as, keeper):
    rig = builders.make_rig(keeper.household)
    dated(rig, "oil", TODAY)

    assert "Nothing is due" in due_page(client_as, keeper)


@pytest.mark.parametrize(
    ("baseline_on", "led"), [(None, True), (date(2024, 1, 1), False)]
)
def test_due_leads_to_the_past_of_rigs_without_a_record(
    client_as, keeper, baseline_on, led
):
    rig = builders.make_rig(keeper.household)
    told = {"baseline": "stated", "baseline_on": baseline_on} if baseline_on else {}
    builders.make_item(rig, **told)

    page = due_page(client_as, keeper)

    assert (reverse("baselines", args=[rig.pk]) in page) is led


def wheel_off(keeper, rig):
    take_on(rig, by=keeper, today=TODAY, keys=["lug_recheck"])
    builders.make_reading(rig, TODAY, 42310)
    report_event(
        rig,
        by=keeper,
        today=TODAY,
        on=TODAY,
        kind="wheel_off",
        values={"odometer": Decimal(42310)},
    )


def test_check_ahead_stands_on_due_from_the_day_the_wheel_was_off(client_as, keeper):
    rig = builders.make_rig(keeper.household)
    dated(rig, "overdue_item", date(2024, 1, 1))
    dated(rig, "due_item", TODAY - timedelta(days=345))
    wheel_off(keeper, rig)

    page = due_page(client_as, keeper)

    words = ("Overdue item", "Ahead on the road", "Re-check lug torque", "Due item")
    assert [page.index(word) for word in words] == sorted(map(page.index, words))
    assert "42,360 mi to 42,410 mi" in page


def test_check_ahead_is_not_folded_away_on_the_page_of_its_rig(client_as, keeper):
    rig = builders.make_rig(keeper.household)
    wheel_off(keeper, rig)
    due_page(client_as, keeper)

    page = client_as(keeper).get(reverse("rig", args=[rig.pk])).context["page"]

    shown = [(job.title, job.standing) for place in page.places for job in place.shown]
    assert shown == [("Re-check lug torque after a wheel was off", "soon")]


def test_due_runs_in_the_order_of_urgency(client_as, keeper):
    rig = builders.make_rig(keeper.household)
    long_ago = date(2024, 1, 1)
    nearly = TODAY - timedelta(days=345)
    coming = TODAY - timedelta(days=312)
    dated(rig, "soon_item", coming)
    builders.make_item(rig, "unknown_item", safety=False)
    dated(rig, "due_item", nearly)
    dated(rig, "due_safety", nearly, safety=True)
    dated(rig, "overdue_item", long_ago)
    dated(rig, "overdue_safety", long_ago, safety=True)
    dated(rig, "unfit_item", long_ago, unfit=True)
    builders.make_item(rig, "unknown_safety", safety=True)

    page = due_page(client_as, keeper)

    titles = (
        "Unfit item",
        "Overdue safety",
        "Overdue item",
        "Due safety",
        "Unknown safety",
        "Due item",
        "Unknown item",
        "Soon item",
    )
    at = [page.index(f">{title}</a>") for title in titles]
    assert at == sorted(at)


def test_due_shows_standing_in_words_and_shape(client_as, keeper):
    dated(builders.make_rig(keeper.household), "oil", date(2024, 1, 1))

    page = due_page(client_as, keeper)

    assert "marks.svg#overdue" in page
    assert "Overdue</span>" in page


def test_due_names_why_in_place(client_as, keeper):
    dated(builders.make_rig(keeper.household), "oil", date(2024, 1, 1))

    page = due_page(client_as, keeper)

    assert "Jan 1, 2024" in page
    assert "12 months" in page


def test_finding_that_makes_unfit_stands_first(client_as, keeper):
    rig = builders.make_rig(keeper.household)
    dated(rig, "overdue_item", date(2024, 1, 1))
    Finding.objects.create(rig=rig, what="Cracked stud", found_on=TODAY, unfit=True)

    page = due_page(client_as, keeper)

    assert page.index("Cracked stud") < page.index(">Overdue item</a>")
    assert "Unfit to travel" in page


def test_due_of_another_household_stays_there(client_as, keeper):
    other = builders.make_rig(builders.make_household(name="Next door"))
    dated(other, "their_item", date(2024, 1, 1))

    assert "Their item" not in due_page(client_as, keeper)


def test_due_says_until_when_and_why_an_item_is_deferred(client_as, keeper):
    item = dated(builders.make_rig(keeper.household), "oil", date(2024, 1, 1))
    _put_off(item, keeper, why="No parts yet", ended=True)
    _put_off(item, keeper, why="Waits for the filter", ended=False)

    page = due_page(client_as, keeper)

    assert page.count(f"Jun 1, 2026 by {keeper.name}: Waits for the filter") == 1
    assert "No parts yet" not in page


def _put_off(item, keeper, *, why: str, ended: bool) -> None:
    Deferral.objects.create(
        item=item, until=date(2026, 6, 1), why=why, made_by=keeper, ended=ended
    )


def test_due_names_addresses_that_no_mail_reaches_and_counts_photos(client_as, keeper):
    elsewhere = builders.make_household(name="Next door")
    for household in (keeper.household, elsewhere):
        _snap(household, "1")
        _stop(household, f"{household.pk}@there.invalid")
    _snap(keeper.household, "2")
    _stop(keeper.household, "aunt@there.invalid")

    page = due_page(client_as, keeper)

    assert f'Photos to file:</span> <a href="{reverse("snaps")}">2</a>' in page
    own = f"{keeper.household.pk}@there.invalid"
    assert f"No reminders reach {own}, aunt@there.invalid:" in page
    assert f"{elsewhere.pk}@" not in page


def _snap(household, sha256: str) -> None:
    UnfiledPhoto.objects.create(
        household=household,
        title="Invoice",
        content_type="image/png",
        stored=f"{household.pk}-{sha256}",
        size=1,
        sha256=sha256,
    )


def _stop(household, address: str) -> None:
    StoppedAddress.objects.create(
        household=household, address=address, words="No such mailbox", at=timezone.now()
    )


@pytest.mark.parametrize("rows", [3, 30])
def test_due_takes_eleven_queries_however_much_there_is(
    client_as, keeper, rows, django_assert_max_num_queries
):
    for number in range(rows):
        rig = builders.make_rig(keeper.household)
        item = dated(rig, f"item{number}", date(2024, 1, 1))
        _put_off(item, keeper, why="Waits", ended=False)
        Finding.objects.create(rig=rig, what="Cracked stud", found_on=TODAY)
        _snap(keeper.household, str(number))
        _stop(keeper.household, f"{number}@there.invalid")
    renew_household(keeper.household, as_of=TODAY)
    client = client_as(keeper)

    # Three of them for a keeper alone: sweep, clock and mail that waits.
    with django_assert_max_num_queries(11):
        client.get(reverse("due"))


def test_first_look_of_a_new_day_reckons(client_as, keeper, clock):
    rig = builders.make_rig(keeper.household)
    item = dated(rig, "oil", TODAY - timedelta(days=300))
    renew_household(keeper.household, as_of=TODAY)
    assert item.standing.standing == "later"

    clock("2027-05-04 12:00", "America/Denver")
    client_as(keeper).get(reverse("due"))

    item.standing.refresh_from_db()
    assert item.standing.standing == "overdue"
