"""What was done before is asked for once, quickly, and nothing is made up."""

from datetime import date

import pytest
from django.urls import reverse

from maintenance.households.refusals import Refused
from maintenance.plans.asking import asked_of_rig
from maintenance.plans.models import Standing
from maintenance.plans.queries import due_standings
from maintenance.plans.services import Answer, state_baselines, take_on
from tests import builders

TODAY = builders.TODAY
OIL, ROOF = "engine_oil", "roof_inspection"
ALARM, PAPER, TIRES = "smoke_alarm_renew", "registration_renewal", "tire_pressure"


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def rig(keeper):
    rig = builders.make_rig(keeper.household)
    builders.make_reading(rig, TODAY, 42310)
    take_on(rig, by=keeper, today=TODAY, keys=[OIL, ROOF, ALARM, PAPER])
    return rig


@pytest.fixture(autouse=True)
def _today(clock):
    clock("2026-05-04 09:00", "America/Denver")


@pytest.fixture
def browser(keeper, client_as):
    return client_as(keeper)


def item_of(rig, key):
    return rig.plan_items.get(key=key)


def field(rig, name, key, kind="done"):
    return f"{name}_{kind}{item_of(rig, key).pk}"


def post(browser, rig, **answers):
    """`oil_when="2024"` and the like, under the names that the page uses."""
    kinds = {"oil": (OIL, "done"), "alarm": (ALARM, "life"), "paper": (PAPER, "paper")}
    data = {}
    for name, value in answers.items():
        who, _sep, what = name.partition("_")
        data[field(rig, what, *kinds[who]) if who in kinds else name] = value
    return browser.post(reverse("baselines", args=[rig.pk]), data)


def test_only_what_counts_from_a_past_is_asked_and_safety_first(rig):
    asked = [(one.item.key, one.kind) for one in asked_of_rig(rig)]

    assert asked == [(ALARM, "life"), (OIL, "done"), (PAPER, "paper")]


def test_nothing_is_taken_as_done_on_the_day_it_was_taken_on(rig):
    assert item_of(rig, ALARM).standing.standing == "unknown"
    assert not rig.plan_items.filter(baseline_on__isnull=False).exists()


def test_many_answers_are_saved_at_once(browser, rig):
    post(
        browser,
        rig,
        oil_when="5/2024",
        oil_value="38,000",
        alarm_when="4/2019",
        paper_when="6/30/2026",
    )

    oil, alarm = item_of(rig, OIL), item_of(rig, ALARM)
    assert (oil.baseline_on, oil.baseline_values) == (
        date(2024, 5, 1),
        {"odometer": "38000.0"},
    )
    assert alarm.triggers == [{"life": {"months": 120, "from": "2019-04"}}]
    assert item_of(rig, PAPER).baseline_on == date(2025, 6, 30)
    assert asked_of_rig(rig) == []


def test_year_counts_from_its_first_day_in_service(browser, rig):
    rig.in_service_on = date(2023, 6, 1)
    rig.save()

    post(browser, rig, oil_when="2023")

    assert item_of(rig, OIL).baseline_on == date(2023, 6, 1)


def test_what_is_not_known_is_not_asked_again_and_stands_so(browser, rig):
    post(browser, rig, oil_other="unknown", alarm_other="unknown")

    assert [one.item.key for one in asked_of_rig(rig)] == [PAPER]
    assert item_of(rig, OIL).baseline == "none"
    assert {
        row.standing for row in Standing.objects.filter(item__key__in=[OIL, ALARM])
    } == {"unknown"}


def test_safety_without_a_record_stands_before_other_items_without(browser, rig):
    post(browser, rig, rest_unknown="on")

    found = [row.item.key for row in due_standings(rig.household)]
    assert found.index(ALARM) < found.index(OIL)


def test_never_since_new_counts_from_the_day_the_rig_entered_service(browser, rig):
    post(browser, rig, oil_other="never")

    oil = item_of(rig, OIL)
    assert (oil.baseline, oil.standing.standing) == ("in_service", "overdue")
    assert oil not in [one.item for one in asked_of_rig(rig)]


def test_life_known_by_its_end_began_that_long_before(browser, rig):
    post(browser, rig, alarm_when="4/2029", alarm_other="ends")

    alarm = item_of(rig, ALARM)
    assert alarm.triggers == [{"life": {"months": 120, "from": "2019-04"}}]
    # NFPA 72: smoke alarms are replaced ten years from the date of manufacture; a date
    # given as a month is good to the end of the month it leads to.
    assert alarm.standing.closes_on == date(2029, 4, 30)


def test_paper_is_due_on_the_day_printed_on_it(browser, rig):
    post(browser, rig, paper_when="6/30/2026")

    assert item_of(rig, PAPER).standing.closes_on == date(2026, 6, 30)


@pytest.mark.parametrize(
    ("answers", "name", "words"),
    [
        ({"oil_when": "soon"}, "when_done", "“soon” isn't a date"),
        ({"oil_when": "6/2026"}, "when_done", "is still to come"),
        ({"oil_when": "2015"}, "when_done", "entered service on Jun 1, 2019"),
        ({"oil_value": "38000"}, "when_done", "Enter the date too"),
        (
            {"oil_when": "2024", "oil_value": "99000"},
            "value_done",
            "This doesn't fit 42,310 mi on May 4, 2026.",
        ),
        ({"oil_when": "2024", "oil_other": "unknown"}, "when_done", "not both"),
        ({"paper_when": "2026"}, "when_paper", "at least the month"),
        ({"alarm_when": "7/2026"}, "when_life", "is still to come"),
        ({"alarm_other": "ends"}, "when_life", "Enter the date too"),
    ],
)
def test_wrong_answer_is_said_at_its_row(browser, rig, answers, name, words):
    answer = post(browser, rig, **answers)

    errors = answer.context["form"].errors
    (where,) = errors
    assert where.startswith(name)
    assert words in errors[where][0]


def test_reading_that_does_not_fit_is_asked_about_and_a_slip_is_offered(browser, rig):
    """A digit too many, as at every other meter value."""
    answer = post(browser, rig, oil_when="5/1/2024", oil_value="380000")

    question = f"doubt_{field(rig, 'value', OIL)}"
    choices = dict(answer.context["form"].fields[question].choices)
    assert choices["meant:38000.0"] == "Typo: I meant 38,000 mi"
    assert f'name="{question}"' in answer.content.decode()
    assert item_of(rig, OIL).baseline_asked_on is None

    data = {field(rig, "when", OIL): "5/1/2024", field(rig, "value", OIL): "380000"}
    url = reverse("baselines", args=[rig.pk])
    browser.post(url, data | {question: "meant:38000.0"})
    assert item_of(rig, OIL).baseline_values == {"odometer": "38000.0"}


def test_reading_kept_as_questionable_counts_nowhere(browser, rig):
    question = f"doubt_{field(rig, 'value', OIL)}"
    data = {field(rig, "when", OIL): "5/1/2024", field(rig, "value", OIL): "99000"}

    browser.post(reverse("baselines", args=[rig.pk]), data | {question: "keep"})

    oil = item_of(rig, OIL)
    assert (oil.baseline_on, oil.baseline_values) == (date(2024, 5, 1), {})


def test_reading_of_a_year_has_to_fit_one_of_its_days(browser, rig):
    """40,000 mi in 2024, though its first week had 38,000 and its last 41,000."""
    for on, value in ((date(2024, 1, 5), 38000), (date(2024, 12, 28), 41000)):
        builders.make_reading(rig, on, value)

    post(browser, rig, oil_when="2024", oil_value="40000")
    assert item_of(rig, OIL).baseline_values == {"odometer": "40000.0"}


def test_wrong_row_keeps_what_was_typed_in_the_others(browser, rig):
    answer = post(browser, rig, oil_when="soon", paper_when="6/30/2026")

    text = answer.content.decode()
    assert 'value="soon"' in text
    assert 'value="6/30/2026"' in text
    assert item_of(rig, PAPER).baseline_asked_on is None


def test_meter_that_was_replaced_may_have_shown_more(browser, rig):
    meter = rig.meters.get()
    meter.replacements.create(on=date(2025, 1, 1), old_final=90_000, new_start=0)

    post(browser, rig, oil_when="2024", oil_value="88000")

    assert item_of(rig, OIL).baseline_values == {"odometer": "88000.0"}


def test_item_with_a_record_is_not_asked(rig):
    item_of(rig, OIL).completions.create(on=TODAY, outcome="done")

    assert OIL not in [one.item.key for one in asked_of_rig(rig)]


def test_what_comes_round_often_stands_last(rig, keeper, browser):
    take_on(rig, by=keeper, today=TODAY, keys=["smoke_alarm_test"])

    groups = browser.get(reverse("baselines", args=[rig.pk])).context["form"].groups

    assert [row.asked.item.key for row in groups[-1].rows] == ["smoke_alarm_test"]
    assert (groups[0].title, groups[0].opened, groups[-1].opened) == (
        "Safety",
        True,
        False,
    )


def test_one_item_can_be_told_of_later_and_corrected(browser, rig):
    post(browser, rig, rest_unknown="on")
    url = reverse("state_baseline", args=[item_of(rig, OIL).pk])

    browser.post(url, {field(rig, "when", OIL): "2025-03-02"})

    assert item_of(rig, OIL).baseline_on == date(2025, 3, 2)


def test_item_that_needs_no_past_can_be_told_of_too(browser, rig):
    url = reverse("state_baseline", args=[item_of(rig, ROOF).pk])

    browser.post(url, {field(rig, "when", ROOF): "4/2/2026"})

    assert item_of(rig, ROOF).baseline_on == date(2026, 4, 2)


def test_page_says_when_everything_was_asked(browser, rig):
    post(browser, rig, rest_unknown="on")

    text = browser.get(reverse("baselines", args=[rig.pk])).content.decode()

    assert "Nothing left to answer." in text


def test_service_checks_by_itself(rig, keeper):
    answer = Answer("done", date(2026, 5, 5))
    with pytest.raises(Refused, match="still to come"):
        state_baselines(
            rig, by=keeper, today=TODAY, answers=[(item_of(rig, OIL), answer)]
        )


def test_queries_do_not_grow_with_the_items(
    rig, keeper, browser, django_assert_max_num_queries
):
    url = reverse("baselines", args=[rig.pk])
    with django_assert_max_num_queries(25) as few:
        browser.get(url)
    for number in range(30):
        builders.make_item(rig, f"item_{number}")

    with django_assert_max_num_queries(len(few)):
        browser.get(url)
