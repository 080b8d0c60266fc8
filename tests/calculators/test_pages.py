"""The bench as an owner uses it: figures that agree with the published ones, units,
refusals that keep what was typed, and keeping a result for a rig."""

from datetime import date

import pytest
from django.urls import reverse
from django.utils.html import escape
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from maintenance.calculators.models import KeptFigure
from maintenance.calculators.subjects import CALCULATORS
from maintenance.core.calculators.answers import CalculatorError
from maintenance.households.models import Role
from maintenance.library.reading import load_library
from tests import builders


@pytest.fixture
def keeper(db, clock):
    clock("2026-05-04 15:00", "America/Denver")
    return builders.make_member()


@pytest.fixture
def client(client_as, keeper):
    return client_as(keeper)


# What an owner would really ask -> calculator, what is typed, what has to be there.
# Each figure by the source beside it.
ASKED = {
    "cold tires at 50 °F, set at 80 psi and 70 °F": (
        "tire_pressure",
        {"gauge": "80", "measured_at": "70", "expected_at": "30", "altitude": "0"},
        "72.8",  # gas law; check table of pressure and temperature, 72.85 psi
    ),
    "crow-foot on a torque wrench": (
        "torque_adapter",
        {
            "torque": "100",
            "unit": "in·lbf",
            "length": "12 in",
            "extension": "6 in",
            "angle": "0",
        },
        "66.7 in·lbf",  # US Navy aviation training manual
    ),
    "20 lb of propane, furnace a third of the time": (
        "propane_hours",
        {"pounds": "20", "demand": "30000", "duty": "30"},
        "47.9 h",  # 20 · 21,548 / (30,000 · 0.3) = 47.88 h
    ),
    "battery shows 12.24 V": (
        "battery_volts",
        {"volts": "12.24", "kind": "flooded"},
        "50 %",  # table credited to the battery industry council
    ),
    "bleach for 50 gallons": (
        "bleach_dose",
        {"tank": "50 gal", "strength": "6", "target": "50", "left": "5"},
        "5.33 fl oz (157.7 mL)",  # V1 = V2 · C2 / (percent · 10,000)
    ),
    "cylinder of May 2019 without a mark": (
        "cylinder_date",
        {"kind": "dot", "made": "2019-05-01", "mark": "new", "marked": ""},
        "May 31, 2031",  # 49 CFR 180.209(e): 12 years
    ),
    "tongue from scale tickets": (
        "tongue_weight",
        {
            "alone_steer": "3200",
            "alone_drive": "2900",
            "steer": "3100",
            "drive": "3720",
            "trailer": "6480",
            "kind": "conventional",
        },
        "720 lb",  # computed: coupled 6,820 less alone 6,100
    ),
    "4,000 W set at 5,000 ft": (
        "generator_output",
        {"rated": "4000", "altitude": "5000", "temperature": "70", "running": ""},
        "3,440 W",  # generator set manual, 3.5 % per 1,000 ft above 1,000 ft
    ),
    "tire of week 35 of 2019": (
        "tire_date",
        {"tin": "3519"},
        # 49 CFR 574.5: week 1 is the first full one, from Jan 6, 2019
        "Sep 1\N{EN DASH}7, 2019",
    ),
    "30 A hookup": (
        "hookup",
        {"service": "30", "running": "1500"},
        "3,600 W",  # P = V · I
    ),
    "smoke alarm of April 2016": (
        "alarm_date",
        {"kind": "smoke", "made": "2016-04-01", "label": ""},
        "Apr 30, 2026",  # NFPA 72: 10 years from manufacture
    ),
    "the regulation's own VIN": (
        "vin",
        {"vin": "1G4AH59H45G118341"},
        "2005",  # 49 CFR 565.15 Table VI
    ),
}


@pytest.mark.either_database
@pytest.mark.parametrize("question", ASKED)
def test_question_of_an_owner_is_answered_with_the_published_figure(client, question):
    key, typed, figure = ASKED[question]

    page = client.get(reverse("calculator", args=[key]), typed).content.decode()

    assert f"<strong>{figure}" in page
    assert "Source:" in page


@pytest.mark.either_database
@pytest.mark.parametrize("key", CALCULATORS)
def test_every_calculator_opens_empty_and_says_what_it_is_for(client, key):
    answer = client.get(reverse("calculator", args=[key]))

    assert answer.status_code == 200
    assert escape(str(CALCULATORS[key].about)) in answer.content.decode()


def test_calculator_shows_the_work_that_the_library_says_it_is_for(client):
    page = client.get(reverse("calculator", args=["tire_date"])).content.decode()

    titles = {key: one.title for key, one in load_library().procedures.items()}
    assert titles["tire_age_review"] in page
    assert titles["tire_replace"] in page
    assert titles["tire_condition"] not in page


def test_list_has_every_calculator_once(client):
    page = client.get(reverse("bench")).content.decode()

    for key in CALCULATORS:
        assert page.count(f'"{reverse("calculator", args=[key])}"') == 1


def test_household_that_counts_kilometers_types_metric_figures(client, keeper):
    keeper.household.distance_unit = "km"
    keeper.household.save()
    typed = {"tank": "189.27", "strength": "6", "target": "50", "left": "5"}

    page = client.get(reverse("calculator", args=["bleach_dose"]), typed)

    assert "5.33 fl oz (157.7 mL)" in page.content.decode()  # as for 50 gal
    assert "(L)" in page.content.decode()


def test_other_unit_may_be_typed_beside_a_number(client):
    typed = {"tank": "189.27 L", "strength": "6", "target": "50", "left": "5"}

    page = client.get(reverse("calculator", args=["bleach_dose"]), typed)

    assert "5.33 fl oz" in page.content.decode()


@pytest.mark.either_database
@pytest.mark.parametrize(
    ("key", "typed", "words"),
    [
        (
            "battery_standing",
            {
                "capacity": "0",
                "kind": "agm",
                "charge": "100",
                "usual": "50",
                "lowest": "20",
            },
            "1 to 2,000 Ah",
        ),
        (
            "antifreeze",
            {"lowest": "300", "heater": "6", "traps": "4", "water": "0"},
            "-60 to 130 °F",
        ),
        ("vin", {"vin": "ABC"}, "17 characters"),
        ("tire_date", {"tin": "9919"}, "weeks run from 01 to 53"),
        ("propane_hours", {"pounds": "many", "demand": "1", "duty": "1"}, "number"),
    ],
)
def test_figure_that_cannot_be_is_refused_with_what_would_do(client, key, typed, words):
    page = client.get(reverse("calculator", args=[key]), typed).content.decode()

    assert words in page
    assert all(
        f'value="{value}"' in page for value in typed.values() if value.isdigit()
    )


def test_cautions_stand_before_the_figures(client):
    key, typed, figure = ASKED["bleach for 50 gallons"]

    page = client.get(reverse("calculator", args=[key]), typed).content.decode()

    assert page.index("Never mix bleach") < page.index(f"<strong>{figure}")


def test_script_gets_the_result_alone(client):
    key, typed, figure = ASKED["30 A hookup"]
    url = reverse("calculator", args=[key])

    part = client.get(url, typed, headers={"HX-Request": "true"}).content.decode()

    assert figure in part
    assert "<html" not in part


@pytest.fixture
def keep(client):
    def send(rig, question="30 A hookup", **more):
        key, typed, _figure = ASKED[question]
        query = "&".join(f"{name}={value}" for name, value in typed.items())
        data = {"query": query, "rig": rig and rig.pk, **more}
        return client.post(reverse("keep_figure", args=[key]), data)

    return send


def test_figure_is_kept_for_a_rig_and_shown_with_its_link(keeper, client, keep):
    rig = builders.make_rig(keeper.household, name="Heron")

    keep(rig, note="home")

    kept = KeptFigure.objects.get()
    assert kept.lines[0] == ["It supplies", "3,600 W"]
    page = client.get(reverse("bench")).content.decode()
    assert "Heron" in page
    assert "service=30" in page


def test_kept_twice_on_a_day_it_is_one(keeper, keep):
    rig = builders.make_rig(keeper.household)

    keep(rig)
    keep(rig)

    assert KeptFigure.objects.count() == 1


def test_rig_of_strangers_keeps_no_figure(keep):
    stranger = builders.make_rig(builders.make_household(name="Birch"))

    assert keep(stranger).status_code == 404


def test_viewer_keeps_no_figure(keeper, client_as):
    viewer = builders.make_member(keeper.household, role=Role.VIEWER)
    url = reverse("keep_figure", args=["vin"])

    assert client_as(viewer).post(url, {}).status_code == 403


def test_figure_is_dropped(keeper, client, keep):
    keep(builders.make_rig(keeper.household))

    client.post(reverse("drop_figure", args=[KeptFigure.objects.get().pk]))

    assert not KeptFigure.objects.exists()


def test_figure_of_strangers_is_not_found(keeper, keep, client_as):
    keep(builders.make_rig(keeper.household))
    stranger = client_as(builders.make_member(builders.make_household(name="Birch")))
    url = reverse("drop_figure", args=[KeptFigure.objects.get().pk])

    assert stranger.post(url).status_code == 404


typed_figures = st.one_of(
    st.decimals(-(10**9), 10**9, places=2).map(str),
    st.sampled_from(["", "0", "-1", "1e400", "NaN", "12 °F", "7 lb", "½", "²", "abc"]),
    st.text(max_size=12),
)


@pytest.mark.either_database
@settings(
    max_examples=15,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@pytest.mark.parametrize("key", CALCULATORS)
@given(data=st.data())
def test_whatever_is_typed_is_answered_or_refused_in_words(key, data):
    one = CALCULATORS[key]
    typed = {name: data.draw(typed_figures) for name in one.form.base_fields}
    for name, field in one.form.base_fields.items():
        if hasattr(field, "choices") and data.draw(st.booleans()):
            typed[name] = data.draw(st.sampled_from([str(c[0]) for c in field.choices]))
    form = one.form(typed)
    if not form.is_valid():
        assert form.errors
        return
    try:
        lines = one.reckon(form.cleaned_data | {"today": date(2026, 5, 4)})
    except CalculatorError:
        return
    shown = " ".join(line.figure for line in lines)
    assert lines
    assert "NaN" not in shown
    assert "Infinity" not in shown
