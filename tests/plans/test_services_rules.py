"""An item's own rules: through the form and back, refused with the reason."""

import pytest
from django.urls import reverse

from maintenance.households.refusals import Refused
from maintenance.library.reading import load_library
from maintenance.plans.forms import RulesForm
from maintenance.plans.rule_data import canonical, rules_on
from maintenance.plans.services import (
    change_rules,
    follow_library,
    set_maker_figure,
    take_on,
)
from tests import builders

TODAY = builders.TODAY
METERS = {"odometer": "mi", "engine": "h", "generator": "h"}
FORMED = [
    one.key
    for one in load_library().procedures.values()
    if one.triggers  # without a rule there is nothing to show
]


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def item(keeper):
    rig = builders.make_rig(keeper.household)
    builders.make_reading(rig, TODAY, 42310)
    return take_on(rig, by=keeper, today=TODAY, keys=["engine_oil"])[0]


@pytest.fixture(autouse=True)
def _today(clock):
    clock("2026-05-04 09:00", "America/Denver")


def typed(form):
    """What a browser sends of a form that is shown."""
    data = {}
    for name in form.fields:
        value = form[name].value()
        if value is not None and value is not False and value != "":
            data[name] = "on" if value is True else value
    return data


@pytest.mark.parametrize("key", FORMED)
def test_every_rule_of_the_library_goes_through_the_form_unchanged(key):
    rules = rules_on(load_library().procedures[key], METERS)

    form = RulesForm(
        typed(RulesForm(meters=METERS, rules=rules)), meters=METERS, rules=rules
    )

    assert form.is_valid(), form.errors
    assert sorted(map(str, form.rules)) == sorted(map(str, rules))


def test_rule_in_another_unit_than_its_meter_keeps_it():
    rules = [{"every": {"distance": 5000, "unit": "mi", "meter": "odometer"}}]
    meters = {"odometer": "km"}

    form = RulesForm(
        typed(RulesForm(meters=meters, rules=rules)), meters=meters, rules=rules
    )

    assert form.is_valid()
    assert form.rules == canonical(rules, "x")


def form_of(**data):
    return RulesForm(data, meters=METERS, rules=[])


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"odometer_every": "0"}, "odometer_every", "0 can't be right"),
        ({"odometer_every": "-5"}, "odometer_every", "Enter a value from 0"),
        (
            {"odometer_every": "500,000"},
            "odometer_every",
            "Every 500,000 mi can't be right: enter 100 to 150,000 mi.",
        ),
        ({"odometer_every": "oil"}, "odometer_every", "isn't a number"),
        ({"generator_every": "3"}, "generator_every", "enter 5 to 5,000 h"),
        (
            {"odometer_every": "5000", "odometer_severe": "5"},
            "odometer_every",
            "Every 5 mi can't be right",
        ),
        ({"every": "0"}, "every", "0 can't be right"),
        ({"every": "-3"}, "every", "-3 can't be right"),
        ({"every": "50", "every_unit": "years"}, "every", "longer than any part lasts"),
        ({"every": "3", "in_use": "on"}, "every", "enter the interval in days"),
        ({"every_severe": "6"}, "every", "Enter the usual interval too"),
        ({"odometer_first": "900"}, "odometer_every", "Enter the usual interval too"),
        ({"by_day": "14"}, "storage_entry", "Enter this too"),
        ({"trip_lead": "2"}, "before_trip", "Enter this too"),
        ({"life_from": "2015"}, "life", "Enter this too"),
        ({"life": "0"}, "life", "0 can't be right"),
        ({"while_stored": "0"}, "while_stored", "0 can't be right"),
        ({"event0": "wheel_off"}, "between0", "Enter both"),
        (
            {"event0": "wheel_off", "between0": "100-50", "between_unit0": "mi"},
            "between0",
            "the second must be larger",
        ),
        (
            {"event0": "wheel_off", "between0": "some", "between_unit0": "mi"},
            "between0",
            "isn't a range",
        ),
    ],
)
def test_rule_that_cannot_be_is_refused_at_its_field(data, field, words):
    form = form_of(**data)

    assert not form.is_valid()
    assert words in form.errors[field][0]


def test_series_of_checks_is_written_with_commas():
    form = form_of(
        event0="wheel_off",
        between0="5-10, 20\N{EN DASH}25, 40 to 50",
        between_unit0="mi",
    )

    assert form.is_valid(), form.errors
    assert form.rules[0]["after"]["distance"] == [[5, 10], [20, 25], [40, 50]]


def test_owner_s_rule_counts_and_says_whose_it_is(item, keeper, client_as):
    browser = client_as(keeper)

    browser.post(reverse("change_rules", args=[item.pk]), {"odometer_every": "4000"})

    item.refresh_from_db()
    assert (item.rules_from, item.triggers) == (
        "own",
        [{"every": {"distance": 4000, "unit": "mi", "meter": "odometer"}}],
    )
    page = browser.get(reverse("rig_plan", args=[item.rig_id])).content.decode()
    assert "Every 4,000 mi, by your own rules" in page


def test_refused_rule_keeps_what_was_typed(item, keeper, client_as):
    url = reverse("change_rules", args=[item.pk])

    answer = client_as(keeper).post(url, {"odometer_every": "500000", "every": "6"})

    text = answer.content.decode()
    assert 'value="500000"' in text
    assert "Every 500,000 mi can&#x27;t be right" in text
    item.refresh_from_db()
    assert item.rules_from == "library"


def test_library_counts_again_where_the_owner_wants_it(item, keeper):
    before = item.triggers
    change_rules(item, by=keeper, today=TODAY, rules=[{"every": {"months": 3}}])

    follow_library(item, by=keeper, today=TODAY)

    assert (item.rules_from, item.triggers) == ("library", before)


def test_following_the_library_keeps_the_date_of_a_part(item, keeper):
    (alarm,) = take_on(item.rig, by=keeper, today=TODAY, keys=["smoke_alarm_renew"])
    change_rules(
        alarm, by=keeper, today=TODAY, rules=[{"life": {"years": 8, "from": "2019-04"}}]
    )

    follow_library(alarm, by=keeper, today=TODAY)

    assert alarm.triggers == [{"life": {"months": 120, "from": "2019-04"}}]


def test_service_refuses_an_implausible_rule_by_itself(item, keeper):
    rule = {"every": {"distance": 500_000, "unit": "mi", "meter": "odometer"}}
    with pytest.raises(Refused, match="500,000 mi can't be right"):
        change_rules(item, by=keeper, today=TODAY, rules=[rule])


def test_service_refuses_a_meter_that_the_rig_does_not_have(item, keeper):
    rule = {"every": {"hours": 100, "meter": "generator"}}
    with pytest.raises(Refused, match='has no "generator"'):
        change_rules(item, by=keeper, today=TODAY, rules=[rule])


def test_rules_of_the_maker_are_changed_with_the_maker_s_figure(
    item, keeper, client_as
):
    rules = [{"every": {"months": 6}}]
    set_maker_figure(item, by=keeper, today=TODAY, document="Book", rules=rules)

    answer = client_as(keeper).get(reverse("change_rules", args=[item.pk]))

    assert answer["Location"] == reverse("maker_figure", args=[item.pk])
    with pytest.raises(Refused, match="manufacturer's figure"):
        change_rules(item, by=keeper, today=TODAY, rules=rules)
