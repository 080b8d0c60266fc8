"""The maker's figure wins, is kept when the library changes, and a changed library
figure is offered, not applied."""

from dataclasses import replace
from decimal import Decimal

import pytest
from django.urls import reverse

from maintenance.households.refusals import Refused
from maintenance.library.reading import load_library
from maintenance.plans import queries
from maintenance.plans.figures import figures_of
from maintenance.plans.forms.fields import figure_of
from maintenance.plans.services import (
    MakersValue,
    keep_rules,
    remove_maker_figure,
    set_maker_figure,
    take_on,
)
from maintenance.plans.sheets import plan_sheet
from maintenance.vehicles.services import set_severe_duty
from tests import builders

TODAY = builders.TODAY
MAKERS = {"every": {"distance": 7500, "unit": "mi", "meter": "odometer"}}


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


@pytest.fixture
def browser(keeper, client_as):
    return client_as(keeper)


@pytest.fixture
def makers(item, keeper):
    set_maker_figure(
        item,
        by=keeper,
        today=TODAY,
        document="Chassis book",
        page="112",
        note="SAE 5W-30",
        values=[MakersValue("Drain plug", Decimal(25), "ft·lbf")],
        rules=[MAKERS],
    )
    item.refresh_from_db()
    return item


@pytest.fixture
def newer_library(monkeypatch):
    """The library of a later day: oil every 6,000 miles or six months."""

    def load():
        library = load_library()
        oil = replace(
            library.procedures["engine_oil"],
            triggers=(
                {"every": {"distance": 6000, "unit": "mi", "meter": "distance"}},
                {"every": {"months": 6}},
            ),
        )
        return replace(library, procedures={**library.procedures, "engine_oil": oil})

    monkeypatch.setattr(queries, "load_library", load)


def fields(**others):
    return {"document": "Chassis book", "page": "112", **others}


def test_maker_s_interval_rules_the_reckoning(makers):
    assert (makers.rules_from, makers.triggers) == ("maker", [MAKERS])
    assert makers.standing.governing == "every_distance"


def test_form_takes_interval_figure_and_where_they_stand(browser, item):
    browser.post(
        reverse("maker_figure", args=[item.pk]),
        fields(
            odometer_every="7,500",
            name0="Drain plug",
            figure0="25 ft-lb",
            name1="Oil",
            figure1="5.5-6 qt",
        ),
    )

    item.refresh_from_db()
    assert (item.rules_from, item.triggers) == ("maker", [MAKERS])
    values = item.maker.values.values_list("name", "value", "up_to", "unit")
    assert list(values) == [
        ("Drain plug", Decimal(25), None, "ft·lbf"),
        ("Oil", Decimal("5.5"), Decimal(6), "qt"),
    ]


def test_figures_alone_leave_the_library_s_rules(browser, item):
    before = item.triggers
    page = reverse("maker_figure", args=[item.pk])
    shown = browser.get(page).context["form"]
    data = {name: shown[name].value() for name in shown.fields if shown[name].value()}

    browser.post(page, data | fields(name0="Drain plug", figure0="34 N·m"))

    item.refresh_from_db()
    assert (item.rules_from, item.triggers) == ("library", before)
    assert item.maker.values.get().unit == "N·m"


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"name0": "Plug", "figure0": "25"}, "figure0", "Enter the unit too"),
        ({"name0": "Plug", "figure0": "25 furlongs"}, "figure0", "isn't a known unit"),
        ({"name0": "Plug", "figure0": "tight"}, "figure0", "Enter a figure"),
        ({"name0": "Plug"}, "figure0", "Enter the figure"),
        ({"figure0": "25 ft-lb"}, "name0", "Enter what the figure is for"),
        ({"document": ""}, "document", "This is blank"),
        ({"odometer_every": "500000"}, "odometer_every", "can't be right"),
        ({"odometer_every": "", "counts": "on"}, "counts", "at least one rule"),
    ],
)
def test_wrong_figure_is_said_at_its_field(browser, item, data, field, words):
    page = reverse("maker_figure", args=[item.pk])

    answer = browser.post(page, fields(odometer_every="7500") | data)

    assert words in answer.context["form"].errors[field][0]
    assert not hasattr(item, "maker")


@pytest.mark.parametrize(
    ("text", "value", "up_to", "unit"),
    [
        ("25 ft-lb", "25", None, "ft·lbf"),
        ("90-120 ft-lb", "90", "120", "ft·lbf"),
        ("90 ft-lb to 120 ft-lb", None, None, None),
        ("90 to 120 N·m", "90", "120", "N·m"),
        ("12.4 V", "12.4", None, "V"),
        ("-34 °F", "-34", None, "°F"),
        ("-40 to -30 °F", "-40", "-30", "°F"),
        ("4/32 in", "4", None, "1/32 in"),
        ("50%", "50", None, "%"),
    ],
)
def test_figure_is_read_as_books_print_it(text, value, up_to, unit):
    if value is None:
        with pytest.raises(ValueError, match="isn't a known unit"):
            figure_of(text)
        return
    found = figure_of(text)
    assert (str(found.value), found.unit) == (value, unit)
    assert (found.up_to and str(found.up_to)) == up_to


def test_range_that_falls_is_refused(item, keeper):
    value = MakersValue("Nuts", Decimal(120), "ft·lbf", Decimal(90))
    with pytest.raises(Refused, match="must be larger"):
        set_maker_figure(item, by=keeper, today=TODAY, document="B", values=[value])


def test_one_name_twice_is_refused(item, keeper):
    values = [MakersValue(name, Decimal(1), "V") for name in ("Rest", "rest")]
    with pytest.raises(Refused, match="there twice"):
        set_maker_figure(item, by=keeper, today=TODAY, document="B", values=values)


def test_both_figures_stand_side_by_side(makers):
    found = figures_of(makers, TODAY)

    assert found.counted == ["Every 7,500 mi"]
    assert found.counted_from == "the manufacturer's manual: Chassis book, page 112"
    assert found.library[0].startswith("Every 5,000 mi")
    assert [(line.name, line.makers) for line in found.lines] == [
        ("Drain plug", "25 ft·lbf")
    ]


def test_maker_s_limits_stand_beside_those_of_the_procedure(item, keeper):
    (battery,) = take_on(item.rig, by=keeper, today=TODAY, keys=["battery_rest_volts"])
    measure = load_library().procedures[battery.key].measures[0]
    value = MakersValue(measure.name, Decimal("12.6"), "V")

    set_maker_figure(battery, by=keeper, today=TODAY, document="B", values=[value])

    (line,) = figures_of(battery, TODAY).lines
    assert (line.makers, line.ours != "") == ("12.6 V", True)


def test_severe_duty_is_told_and_since_when(item, keeper):
    set_severe_duty(item.rig, by=keeper, today=TODAY, start=TODAY, end=None, why="")

    found = figures_of(item, TODAY)

    assert found.severe == [
        "every 3,000 mi instead of 5,000 mi",
        "every 6 months instead of 1 year",
    ]
    assert found.severe_since == TODAY


def test_severe_duty_that_is_over_is_not_on(item, keeper):
    item.rig.duty.create(start=TODAY.replace(day=1), end=TODAY.replace(day=3))

    assert figures_of(item, TODAY).severe_since is None


def test_changed_library_is_offered_and_not_applied(item, browser, newer_library):
    before = item.triggers

    page = browser.get(reverse("rig_plan", args=[item.rig_id])).content.decode()

    assert "The library now says: <strong>Every 6,000 mi · Every 6 months" in page
    assert "Keep mine" in page
    item.refresh_from_db()
    assert item.triggers == before


def test_unchanged_library_offers_nothing(item):
    assert plan_sheet(item.rig, TODAY).offers == []


def test_offer_taken_counts(item, browser, newer_library):
    data = {"as": "library", "back": "plan"}

    answer = browser.post(reverse("settle_offer", args=[item.pk]), data)

    assert answer["Location"] == reverse("rig_plan", args=[item.rig_id])
    item.refresh_from_db()
    assert item.triggers[0]["every"]["distance"] == 6000
    assert plan_sheet(item.rig, TODAY).offers == []


def test_offer_declined_is_not_made_again(item, keeper, browser, newer_library):
    before = item.triggers

    browser.post(reverse("settle_offer", args=[item.pk]), {"as": "keep"})

    item.refresh_from_db()
    assert item.triggers == before
    assert plan_sheet(item.rig, TODAY).offers == []


def test_offer_comes_again_when_the_library_changes_once_more(
    item, keeper, newer_library
):
    keep_rules(item, by=keeper)
    item.library_triggers[0]["every"]["distance"] = 5500
    item.save()

    assert [offer.item for offer in plan_sheet(item.rig, TODAY).offers] == [item]


def test_maker_s_figure_is_kept_when_the_library_changes(
    makers, browser, newer_library
):
    page = browser.get(reverse("rig_plan", args=[makers.rig_id])).content.decode()

    assert "The manufacturer's figure wins: it still counts." in page
    assert "Take it" not in page
    makers.refresh_from_db()
    assert makers.triggers == [MAKERS]


def test_maker_s_figure_removed_leaves_the_library_s(makers, keeper):
    remove_maker_figure(makers, by=keeper, today=TODAY)

    makers.refresh_from_db()
    assert makers.rules_from == "library"
    assert makers.triggers[0]["every"]["distance"] == 5000
    assert not hasattr(makers, "maker")


def test_interval_taken_out_of_the_maker_s_figure_leaves_the_library_s(makers, keeper):
    set_maker_figure(makers, by=keeper, today=TODAY, document="Chassis book")

    makers.refresh_from_db()
    assert (makers.rules_from, makers.maker.document) == ("library", "Chassis book")


@pytest.mark.parametrize("role", ["crew", "viewer"])
def test_only_a_keeper_settles(item, role, client_as):
    member = builders.make_member(item.rig.household, role)
    url = reverse("settle_offer", args=[item.pk])

    assert client_as(member).post(url, {"as": "library"}).status_code == 403


def test_stranger_finds_no_item_to_settle(item, client_as):
    stranger = client_as(builders.make_member())

    answer = stranger.post(reverse("settle_offer", args=[item.pk]), {"as": "library"})

    assert answer.status_code == 404


def test_looking_at_an_offer_s_address_changes_nothing(item, browser):
    assert browser.get(reverse("settle_offer", args=[item.pk])).status_code == 405
