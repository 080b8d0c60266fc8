"""The pages of parts, through the test client."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.components.models import AxleRating, Component
from maintenance.plans import services
from maintenance.plans.models import PlanItem
from maintenance.vehicles.models import Event
from tests import builders

TODAY = builders.TODAY
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _today(clock):
    clock("2026-05-04 12:00", "America/Denver")


@pytest.fixture
def keeper():
    return builders.make_member()


@pytest.fixture
def coach(keeper):
    rig = builders.make_rig(keeper.household, name="Coach", wheels="six")
    builders.make_reading(rig, date(2025, 1, 1), 10000)
    builders.make_reading(rig, date(2026, 1, 1), 16000)
    return rig


@pytest.fixture
def browser(keeper, client_as):
    return client_as(keeper)


def add_tires(rig, by, **fields):
    fields.setdefault("serial", "3819")
    return {
        place: services.add_part(
            rig,
            by=by,
            today=TODAY,
            kind="tire",
            on=date(2025, 1, 1),
            place=place,
            keys=["tire_replace"],
            **fields,
        )
        for place in rig.places
    }


def text_of(page):
    return " ".join(page.content.decode().split())


def test_a_tire_is_added_and_decoded(browser, coach):
    url = reverse("add_part", args=[coach.pk, "tire"])
    form = {
        "serial": "DOT 1AB C23DEF 2716",
        "service": "121/118S",
        "place": "LF",
        "on": "2025-01-01",
        "meter_odometer": "10,000",
        "keys": ["tire_replace"],
    }
    page = browser.post(url, form, follow=True)
    text = text_of(page)
    assert "week 27 of 2016, Jul 3\N{EN DASH}9, 2016" in text
    assert "9 years 10 months old" in text
    assert "1,450 kg on a single wheel, 1,320 kg on a dual wheel" in text
    made = Component.objects.get()
    assert made.fittings.get().start_values == {"odometer": "10000.0"}
    assert made.plan_items.get().key == "tire_replace"


def test_a_wrong_number_is_told_at_the_field_and_what_was_typed_stays(browser, coach):
    url = reverse("add_part", args=[coach.pk, "tire"])
    form = {"serial": "1ABC23DEF5425", "place": "LF", "on": "2025-01-01"}
    page = browser.post(url, form)
    assert "There is no week 54" in text_of(page)
    assert "1ABC23DEF5425" in text_of(page)
    assert not Component.objects.exists()


@pytest.mark.parametrize(
    ("kind", "fields", "key"),
    [
        ("cylinder", {"type": "dot", "mark": "new"}, "cylinder_requalification"),
        ("extinguisher", {"type": "carbon_dioxide"}, "extinguisher_test_5"),
        ("alarm", {"type": "co"}, "co_alarm_renew"),
        ("battery", {"type": "house"}, "house_battery_renew"),
    ],
)
def test_only_items_of_the_type_chosen_are_taken_on(browser, coach, kind, fields, key):
    url = reverse("add_part", args=[coach.pk, kind])
    offered = browser.get(url).context["form"].fields["keys"].choices
    everything = [name for name, _title in offered]
    given = {"made": "05/2019", "on": "2025-01-01", "place": "", "keys": everything}
    page = browser.post(url, {**fields, **given})
    assert page.status_code == 302
    taken = set(PlanItem.objects.values_list("key", flat=True))
    assert key in taken
    assert len(taken) < len(everything) or kind == "cylinder"
    assert Component.objects.get().made == "2019-05"


def test_parts_are_listed_with_what_is_left(browser, keeper, coach):
    services.add_part(
        coach,
        by=keeper,
        today=TODAY,
        kind="cylinder",
        type="dot",
        on=date(2025, 1, 1),
        made="2019-05",
        keys=["cylinder_requalification"],
    )
    text = text_of(browser.get(reverse("parts", args=[coach.pk])))
    assert "Jan 1, 2025, 1 year 4 months ago" in text
    assert "5 years left, by May 31, 2031" in text
    assert "6,000" in text


@pytest.mark.parametrize("page", ["parts", "tires"])
def test_queries_do_not_grow_with_parts(
    browser, keeper, coach, page, django_assert_max_num_queries
):
    url = reverse(page, args=[coach.pk])
    add_tires(coach, keeper)
    browser.get(url)
    with django_assert_max_num_queries(40) as few:
        browser.get(url)
    for _n in range(5):
        services.add_part(
            coach,
            by=keeper,
            today=TODAY,
            kind="alarm",
            type="co",
            on=TODAY,
            keys=["co_alarm_renew"],
        )
    with django_assert_max_num_queries(len(few)):
        browser.get(url)


def test_rotation_leads_to_the_record_with_its_wheels(browser, keeper, coach):
    tires = add_tires(coach, keeper)
    rotate = builders.make_item(coach, "tire_rotate")
    lugs = [{"after": {"event": "wheel_off", "distance": [50, 100], "unit": "mi"}}]
    lugs[0]["after"]["meter"] = "odometer"
    builders.make_item(coach, "lug_recheck", triggers=lugs)
    form = {f"tire_{one.pk}": place for place, one in tires.items()}
    form[f"tire_{tires['LF'].pk}"], form[f"tire_{tires['RF'].pk}"] = "RF", "LF"
    url = reverse("rotate_tires", args=[coach.pk])
    form |= {"on": "2026-05-01", "meter_odometer": "16500"}
    asked = browser.post(url, form)
    assert "Choose Yes or No: were these wheels off?" in text_of(asked)
    assert Component.objects.get(place="LF").pk == tires["LF"].pk
    page = browser.post(url, form | {"wheels_off": "yes"}, follow=True)
    assert "between 16,550 mi and 16,600 mi (LF, RF)" in text_of(page)
    forms = page.context["forms"]
    assert forms.wheels["off_LF"].value()
    assert not forms.wheels["off_LRO"].value()
    assert forms.lines.forms[0]["item"].value() == rotate.pk
    assert str(forms.record["on"].value()) == "2026-05-01"
    assert Component.objects.get(place="RF").pk == tires["LF"].pk
    event = Event.objects.get()  # also where nobody goes on to record the work
    assert (event.kind, event.places) == ("wheel_off", ["LF", "RF"])


def test_rotation_on_paper_alone_then_no_recheck(browser, keeper, coach):
    tires = add_tires(coach, keeper)
    form = {f"tire_{one.pk}": place for place, one in tires.items()}
    form[f"tire_{tires['LF'].pk}"], form[f"tire_{tires['RF'].pk}"] = "RF", "LF"
    url = reverse("rotate_tires", args=[coach.pk])
    answer = browser.post(url, form | {"on": "2026-05-01", "wheels_off": "no"})
    assert answer.url == reverse("tires", args=[coach.pk])
    assert not Event.objects.exists()


def test_tire_moved_to_another_rig_then_it_asks_and_both_wheels_are_rechecked(
    browser, keeper, coach
):
    van = builders.make_rig(keeper.household, name="Van", wheels="four")
    tire = add_tires(coach, keeper)["LF"]
    url = reverse("move_part", args=[tire.pk, van.pk])
    form = {"place": "RR", "on": "2026-05-01", "left_meter_odometer": "16500"}
    assert "Choose Yes or No: were these wheels off?" in text_of(
        browser.post(url, form)
    )
    assert not Event.objects.exists()
    browser.post(url, form | {"wheels_off": "yes"})
    [came], [left] = van.events.all(), coach.events.all()
    assert (came.kind, came.places, came.values) == ("wheel_off", ["RR"], {})
    assert (left.kind, left.places) == ("wheel_off", ["LF"])
    assert left.values == {"odometer": "16500.0"}


def test_two_tires_at_a_place_keep_what_was_chosen(browser, keeper, coach):
    tires = add_tires(coach, keeper)
    form = {f"tire_{one.pk}": place for place, one in tires.items()}
    form[f"tire_{tires['LF'].pk}"] = "RF"
    url = reverse("rotate_tires", args=[coach.pk])
    page = browser.post(url, {**form, "on": "2026-05-01", "wheels_off": "yes"})
    assert "Two tires would be at RF" in text_of(page)


def test_axles_warn_where_tires_carry_less(browser, keeper, coach):
    """Load indexes 121/118 carry 1,450 kg single and 1,320 kg dual (ISO 4000-1)."""
    add_tires(coach, keeper, service="121/118S")
    url = reverse("axle_ratings", args=[coach.pk])
    browser.post(url, {"unit": "kg", "axle_1": "3000", "axle_2": "5200"})
    assert AxleRating.objects.count() == 2
    text = text_of(browser.get(reverse("tires", args=[coach.pk])))
    assert "Its tires carry 2,900 kg, 100 kg less than its rating." in text
    assert "Its tires carry 5,280 kg, 80 kg more than its rating." in text


def test_a_passenger_tire_on_a_trailer_counts_divided(browser, keeper):
    """LI 97 is 730 kg, 663.6 kg after the division by 1.10 (49 CFR 571.110 S4.2.2, as
    NHTSA quotes it): four carry 2,654.5 kg."""
    trailer = builders.make_rig(
        keeper.household, kind="travel_trailer", wheels="trailer_two", meter=None
    )
    add_tires(trailer, keeper, service="97V", passenger=True)
    for axle in (1, 2):
        AxleRating.objects.create(
            rig=trailer, axle=axle, rating=Decimal(1400), unit="kg"
        )
    text = text_of(browser.get(reverse("tires", args=[trailer.pk])))
    assert "Its tires carry 1,327 kg, 73 kg less" in text


def test_moved_from_its_page_it_shows_where_it_was(browser, keeper, coach):
    van = builders.make_rig(keeper.household, name="Van")
    part = services.add_part(
        coach, by=keeper, today=TODAY, kind="other", name="Hub", on=date(2025, 1, 1)
    )
    url = reverse("move_part", args=[part.pk, van.pk])
    form = {"place": "rear", "on": "2026-01-01", "left_meter_odometer": "16,000"}
    page = browser.post(url, form, follow=True)
    text = text_of(page)
    assert "still there" in text
    assert "Coach" in text
    assert part.fittings.first().end_values == {"odometer": "16000.0"}


def test_a_rig_and_a_part_of_others_are_not_there(browser, coach, keeper):
    other = builders.make_rig(name="Other")
    part = services.add_part(
        coach, by=keeper, today=TODAY, kind="other", name="Hub", on=TODAY
    )
    assert (
        browser.get(reverse("move_part", args=[part.pk, other.pk])).status_code == 404
    )
    assert browser.get(reverse("add_part", args=[coach.pk, "wing"])).status_code == 404


# --- VIN ------------------------------------------------------------------------------


def save_vin(browser, rig, vin, year=""):
    form = {
        "name": rig.name,
        "kind": rig.kind,
        "wheels": rig.wheels,
        "in_service_on": rig.in_service_on,
        "vin": vin,
        "year": year,
    }
    page = browser.post(reverse("change_rig", args=[rig.pk]), form, follow=True)
    rig.refresh_from_db()
    return text_of(page)


@pytest.mark.parametrize(
    ("vin", "said"),
    [
        pytest.param(
            "1G4AH59H55G118341",
            "its ninth character would be 4",
            id="49 CFR 565.15 Table VI with position 9 changed",
        ),
        pytest.param("1M8GDM9AXKP04278", "has 16 characters", id="565.13, length"),
        pytest.param("1M8GDM9AXKPO42788", "has the characters O", id="565.13(g)"),
    ],
)
def test_a_vin_that_fails_warns_and_is_saved(browser, coach, vin, said):
    assert said in save_vin(browser, coach, vin)
    assert coach.vin == vin


def test_the_model_year_is_proposed_with_its_limits(browser, coach):
    """49 CFR 565.15 Table VI is of model year 2005."""
    text = save_vin(browser, coach, "1G4AH59H45G118341")
    assert "By its VIN, the model year is 2005" in text
    assert "it may also be 2035" in text


def test_a_year_that_fits_is_not_remarked_on(browser, coach):
    assert "By its VIN" not in save_vin(browser, coach, "1G4AH59H45G118341", "2005")
    other = save_vin(browser, coach, "1G4AH59H45G118341", "2011")
    assert "2005 or 2035, not 2011" in other
