"""The guides on pages: answers are links, what is measured is judged, what came of it
is said the next time."""

from datetime import date

import pytest
from django.urls import reverse

from maintenance.findings.models import Finding
from maintenance.households.models import Role
from maintenance.troubleshooting.models import TroubleOutcome
from tests import builders

TODAY = date(2026, 5, 4)


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 15:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    return builders.make_rig(keeper.household, name="Heron")


@pytest.fixture
def get(client_as, keeper):
    def fetch(name, *args, **query):
        return client_as(keeper).get(reverse(name, args=args), query)

    return fetch


def words(answer):
    return answer.content.decode()


def test_list_says_what_the_rig_cannot_have(get, rig):
    rig.equipment = ["fresh_water"]
    rig.save()

    rows = get("trouble").context["rows"]

    lacks = {row.tree.key: row.lacks for row in rows}
    assert lacks["gas_flame"]
    assert not lacks["low_water_flow"]


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("yellow flame", "gas_flame"),
        ("lug", "wheel_vibration"),
        ("smell of gas", "gas_flame"),
    ],
)
def test_guide_is_found_by_what_is_noticed(get, typed, found):
    rows = get("trouble", q=typed).context["rows"]

    assert found in [row.tree.key for row in rows]


def test_words_that_fit_no_guide_lead_back_to_all(get):
    assert "No guide fits these words" in words(get("trouble", q="zebra"))


def test_question_gives_its_answers_as_links(get, rig):
    page = words(get("guide", "pump_cycles", rig=rig.pk, path="none"))

    assert "Do you see water inside" in page
    assert f"?rig={rig.pk}&amp;path=none,yes" in page


def test_measured_value_goes_on_by_its_band_and_is_judged(get):
    answer = get("guide", "house_battery_flat", path="sound,yes", value="12.3")

    assert answer.url.endswith("path=sound,yes,12.3")
    page = words(get("guide", "house_battery_flat", path="sound,yes,12.3"))
    # Charge at 12.3 V: 57 %, between 12.24 V (50 %) and 12.45 V (75 %) of the
    # table credited to the battery industry council (BCI).
    assert "57" in page
    assert "crusted or loose" in page


def test_measured_value_that_cannot_be_keeps_what_was_typed(get):
    answer = get("guide", "house_battery_flat", path="sound,yes", value="124")

    assert answer.status_code == 400
    assert "from 0 to 15 V" in words(answer)
    assert 'value="124"' in words(answer)


@pytest.mark.parametrize("path", ["maybe", "yes,yes,yes,yes,yes", "x" * 500])
def test_path_that_does_not_fit_begins_again_and_says_why(get, rig, path):
    """A link that was kept from before a guide was changed."""
    answer = get("guide", "pump_cycles", rig=rig.pk, path=path)

    assert answer.url == f"{reverse('guide', args=['pump_cycles'])}?rig={rig.pk}"


def test_who_follows_an_older_link_is_told_why_it_begins_again(client_as, keeper):
    url = reverse("guide", args=["pump_cycles"])
    page = words(client_as(keeper).get(url, {"path": "maybe"}, follow=True))

    assert "This guide has changed since that link." in page
    assert "near anything electric" in page


def test_sheet_of_a_path_that_does_not_fit_is_not_found(get):
    assert get("trouble_sheet", "pump_cycles", path="maybe").status_code == 404


def test_guide_that_is_not_there_is_not_found(get):
    assert get("guide", "no_such_guide").status_code == 404


def test_records_of_the_rig_answer_what_they_can(get, rig, keeper):
    rig.events.create(
        kind="wheel_off", on=date(2026, 5, 1), values={"odometer": "42310"}
    )
    builders.make_reading(rig, TODAY, 42395)

    page = words(get("guide", "wheel_vibration", rig=rig.pk, path="no"))

    assert "A wheel was off on May 1, 2026, 85 mi before the last reading." in page
    assert "as your records say" in page


def test_wheel_off_at_a_questionable_figure_is_told_by_its_day_alone(get, rig):
    builders.make_reading(rig, date(2026, 4, 1), 42310)
    builders.make_reading(rig, TODAY, 42395)
    builders.make_reading(rig, date(2026, 5, 1), 4231)
    rig.events.create(
        kind="wheel_off", on=date(2026, 5, 1), values={"odometer": "4231"}
    )

    page = words(get("guide", "wheel_vibration", rig=rig.pk, path="no"))

    assert "A wheel was off on May 1, 2026." in page
    assert "38,164 mi" not in page


def test_what_was_done_lately_is_said(get, rig):
    item = builders.make_item(rig, key="pump_strainer", title="Clean the strainer")
    item.completions.create(on=date(2026, 4, 27), outcome="done")

    page = words(get("guide", "low_water_flow", rig=rig.pk, path="none"))

    assert "Clean the strainer: done 7 days ago" in page


def test_rig_without_propane_is_not_asked_about_gas(get, rig):
    rig.equipment = ["fresh_water", "water_heater"]
    rig.save()

    page = words(get("guide", "water_heater", rig=rig.pk, path="no,yes"))

    assert "Which way does it fail?" in page
    assert "On gas only" not in page


def test_cause_shows_cautions_before_steps_and_leads_to_the_record(get, rig):
    item = builders.make_item(rig, key="pump_strainer", title="Clean the strainer")

    page = words(
        get("guide", "low_water_flow", rig=rig.pk, path="none,pump,yes,rattles")
    )

    assert page.index("Before you start") < page.index("What to do")
    assert f"{reverse('record_work', args=[rig.pk])}?item={item.pk}" in page


def test_danger_offers_nothing_to_try(get, rig):
    page = words(get("guide", "gas_flame", rig=rig.pk, path="smell"))

    assert "Leave now, then call 911 from outside." in page
    assert "That wasn't it" not in page
    assert "did not cure" not in page


def tell(client_as, member, rig, told, path="none,pump,yes,rattles"):
    url = reverse("tell_cause", args=["low_water_flow"])
    query = f"?rig={rig.pk}&path={path}"
    return client_as(member).post(url + query, {"told": told})


def test_what_came_of_it_is_said_the_next_time_on_this_rig_alone(
    get, rig, keeper, client_as
):
    other = builders.make_rig(keeper.household, name="Wren")

    tell(client_as, keeper, rig, "was_it")

    assert "That was it" in words(get("guide", "low_water_flow", rig=rig.pk))
    assert "That was it" not in words(get("guide", "low_water_flow", rig=other.pk))


def test_what_was_told_of_a_cause_that_is_gone_from_the_guide_is_still_said(get, rig):
    rig.outcomes.create(
        guide="low_water_flow", cause="gone", on=TODAY, was_it=True, path="pump"
    )

    page = words(get("guide", "low_water_flow", rig=rig.pk))

    assert "A cause from an older version" in page


def test_told_twice_it_is_one_row_and_the_later_word_holds(rig, keeper, client_as):
    tell(client_as, keeper, rig, "was_it")
    tell(client_as, keeper, rig, "not_it")

    assert [row.was_it for row in TroubleOutcome.objects.all()] == [False]


def test_that_was_not_it_goes_on_where_the_guide_does(rig, keeper, client_as):
    answer = tell(client_as, keeper, rig, "not_it")

    assert answer.url.endswith("path=none,pump,yes,rattles,not_cured")


def test_danger_noted_makes_the_rig_unfit(rig, keeper, client_as):
    url = reverse("tell_cause", args=["gas_flame"])

    client_as(keeper).post(f"{url}?rig={rig.pk}&path=smell", {"told": "finding"})

    assert Finding.objects.get(rig=rig).unfit


def test_viewer_may_look_and_tells_nothing(rig, keeper, client_as):
    viewer = builders.make_member(keeper.household, role=Role.VIEWER)

    assert tell(client_as, viewer, rig, "was_it").status_code == 403


def test_rig_of_strangers_is_not_found(client_as, rig):
    stranger = builders.make_member(builders.make_household(name="Birch"))
    url = reverse("guide", args=["pump_cycles"])

    assert client_as(stranger).get(url, {"rig": rig.pk}).status_code == 404


def test_sheet_for_the_shop_has_rig_path_values_and_words(get, rig):
    builders.make_reading(rig, date(2026, 5, 3), 42395)

    page = words(
        get(
            "trouble_sheet",
            "house_battery_flat",
            rig=rig.pk,
            path="sound,yes,11.9",
            since="Since Sunday",
        )
    )

    assert "Heron" in page
    assert "42,395" in page
    assert "11.9 V: Below 12.1 V" in page
    assert "Since Sunday" in page


@pytest.mark.parametrize("depth", [1, 4])
def test_question_asks_the_database_little(
    client_as, keeper, rig, django_assert_max_num_queries, depth
):
    client = client_as(keeper)
    path = ",".join(["none", "pump", "yes", "steady"][:depth])
    with django_assert_max_num_queries(8):
        url = reverse("guide", args=["low_water_flow"])
        client.get(url, {"rig": rig.pk, "path": path})


@pytest.mark.parametrize("name", ["guide", "trouble_sheet", "tell_cause"])
def test_who_is_not_logged_in_is_sent_to_the_login(client, db, name):
    answer = client.post(reverse(name, args=["pump_cycles"]))

    assert answer["Location"].startswith(reverse("login"))
