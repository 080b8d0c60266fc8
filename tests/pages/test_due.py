"""Due: the order of urgency, words and shape, and a budget of queries."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from maintenance.findings.models import Finding
from maintenance.plans.models import Deferral
from maintenance.plans.services import take_on, write_procedure
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

    assert "Add your first rig" in page
    assert reverse("add_rig") in page


def test_due_with_nothing_due_says_so(client_as, keeper):
    rig = builders.make_rig(keeper.household)
    dated(rig, "oil", TODAY)

    page = due_page(client_as, keeper)

    assert "Nothing is due, and nothing opens in the next 60 days." in page
    assert '<h2 id="week">Next</h2>' in page


def test_all_without_a_record_is_one_row_that_leads_to_the_past(client_as, keeper):
    rig = builders.make_rig(keeper.household)
    for number in range(30):
        builders.make_item(rig, f"unknown{number}", safety=number < 9)

    page = due_page(client_as, keeper)

    assert page.count('<p class="row-when">') == 1
    assert "Tell us about 30 jobs without a record" in page
    assert reverse("baselines", args=[rig.pk]) in page
    assert "Start with what was done before, safety first." in page
    assert ">Overdue</span>" not in page


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


def test_check_ahead_hangs_on_its_rig_from_the_day_the_wheel_was_off(client_as, keeper):
    rig = builders.make_rig(keeper.household)
    dated(rig, "overdue_item", date(2024, 1, 1))
    wheel_off(keeper, rig)

    page = due_page(client_as, keeper)

    assert page.index("Re-check lug torque") < page.index("This week")
    assert page.count("Re-check lug torque after a wheel was off</h2>") == 1
    assert "42,360 mi to 42,410 mi" in page
    assert "Show me how" in page


def test_yellow_tags_without_room_are_counted_with_their_rigs(client_as, keeper):
    rigs = [builders.make_rig(keeper.household) for _ in range(3)]
    for number, rig in enumerate(rigs):
        Finding.objects.create(
            rig=rig, what=f"Cracked stud {number}", found_on=TODAY, unfit=True
        )
        wheel_off(keeper, rig)

    page = due_page(client_as, keeper)

    assert "3 yellow tags</b>" in page
    assert ", ".join(rig.name for rig in rigs) in page


def test_from_the_fourth_on_a_reason_is_a_line_and_every_rig_is_named(
    client_as, keeper
):
    rigs = [builders.make_rig(keeper.household) for _ in range(5)]
    for rig in rigs:
        Finding.objects.create(rig=rig, what="Brake sinks", found_on=TODAY, unfit=True)

    page = due_page(client_as, keeper)

    assert page.count('class="tag"') == 3
    assert page.count('class="tag-row"') == 2
    *first, last = [rig.name for rig in rigs]
    assert f"Don&#x27;t move {', '.join(first)} or {last}." in page


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
    nearly = TODAY - timedelta(days=360)
    coming = TODAY - timedelta(days=330)
    dated(rig, "soon_item", coming)
    dated(rig, "due_item", nearly)
    dated(rig, "due_safety", nearly, safety=True)
    dated(rig, "overdue_item", long_ago)
    dated(rig, "overdue_safety", long_ago, safety=True)
    dated(rig, "unfit_item", long_ago, unfit=True)
    builders.make_item(rig, "unknown_safety", safety=True)

    page = due_page(client_as, keeper)

    titles = (
        "Unfit item</h2>",
        ">Overdue safety</a>",
        ">Overdue item</a>",
        ">Due safety</a>",
        ">Unknown safety</a>",
        ">Due item</a>",
        ">Soon item</a>",
    )
    at = [page.index(title) for title in titles]
    assert at == sorted(at)


def test_safety_that_finds_no_room_is_counted_and_opened(client_as, keeper):
    for number in range(9):
        rig = builders.make_rig(keeper.household)
        dated(rig, f"late{number}", date(2024, 1, 1), safety=True)

    page = due_page(client_as, keeper)

    assert "2 more safety jobs</b>" in page
    assert (
        "9 jobs are overdue and 9 safety jobs are open. Start with these seven" in page
    )
    assert page.count(">Late8</a>") == 1


def test_what_was_put_off_beyond_the_week_stands_with_the_rest(client_as, keeper):
    rig = builders.make_rig(keeper.household)
    item = dated(rig, "oil", date(2024, 1, 1))
    _put_off(item, keeper, why="Waits for the filter", ended=False)

    page = due_page(client_as, keeper)

    assert page.index("Everything else") < page.index(">Oil</a>")


@pytest.mark.parametrize("by", ["rig", "system", "place", "nonsense"])
def test_everything_else_is_folded_by_what_is_asked(client_as, keeper, by):
    rig = builders.make_rig(keeper.household)
    for number in range(20):
        dated(rig, f"soon{number}", TODAY - timedelta(days=320), system="roof-seals")
    renew_household(keeper.household, as_of=TODAY)

    page = client_as(keeper).get(reverse("due"), {"by": by}).context["due"]

    title = {"system": "Roof and seals", "place": "Roof"}.get(by, rig.name)
    [fold] = page.folds
    assert (fold.title, len(fold.rows), fold.left) == (title, 12, 8)
    assert fold.says == "20 coming"


def test_a_viewer_sees_it_without_questions_and_without_a_way_to_record(
    client_as, keeper
):
    rig = builders.make_rig(keeper.household)
    builders.make_item(rig, "a", safety=True)
    builders.make_item(rig, "b")
    Finding.objects.create(rig=rig, what="Cracked stud", found_on=TODAY, unfit=True)
    viewer = builders.make_member(keeper.household, role="viewer")

    page = due_page(client_as, viewer)

    assert "See details" in page
    assert reverse("baselines", args=[rig.pk]) not in page
    assert "Quick questions" not in page


def test_lanes_have_what_opens_within_60_days_and_a_list_says_it(client_as, keeper):
    rig = builders.make_rig(keeper.household)
    dated(rig, "oil", TODAY - timedelta(days=320))
    dated(rig, "far", TODAY - timedelta(days=100))

    renew_household(keeper.household, as_of=TODAY)
    due = client_as(keeper).get(reverse("due")).context["due"]

    [shown] = due.lanes
    assert [one.name for one in shown.lane.windows] == ["Oil"]
    assert [(one.what, one.rig) for one in due.entries] == [("Oil", rig.name)]


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
    assert "Don&#x27;t drive" in page


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

    assert "<b>2 photos</b> to file" in page
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
def test_due_takes_twelve_queries_however_much_there_is(
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
    with django_assert_max_num_queries(12):
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


def test_a_shop_is_called_in_ten_minutes_however_long_its_work_takes(client_as, keeper):
    rig = builders.make_rig(keeper.household)
    take_on(rig, by=keeper, today=TODAY, keys=["brake_fluid"])
    rig.plan_items.update(baseline="stated", baseline_on=date(2020, 1, 1))
    renew_household(keeper.household, as_of=TODAY)

    [line] = client_as(keeper).get(reverse("due")).context["due"].week.lines

    assert (line.title, line.minutes, line.who) == (
        f"Call a shop: {rig.plan_items.get().short}",
        "10 min call",
        "Shop",
    )


def test_an_own_job_takes_the_minutes_that_its_words_say(client_as, keeper):
    rig = builders.make_rig(keeper.household)
    write_procedure(
        rig,
        by=keeper,
        today=TODAY,
        title="Oil the hinges",
        system="body-doors",
        why="They squeak",
        who="owner",
        minutes=25,
        steps=["A drop on each"],
        triggers=[{"every": {"months": 12}}],
    )
    renew_household(keeper.household, as_of=TODAY)

    [line] = client_as(keeper).get(reverse("due")).context["due"].week.lines

    assert (line.title, line.minutes, line.who) == ("Oil the hinges", "25 min", "You")
