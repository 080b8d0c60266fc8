"""A figure against the limit of its procedure: the limit itself is good."""

from datetime import date
from decimal import Decimal

import pytest

from maintenance.plans.measures import Limits, Measured
from maintenance.plans.models import MakerFigure
from maintenance.vehicles.models import WeightLabel
from maintenance.work_sheets.judging import Judge, judged_outcome, judges_of
from tests import builders


@pytest.fixture
def item(db):
    return builders.make_item(builders.make_rig(), key="propane_leak_check")


def of(*figures):
    """Regulator pressures as measured, in w.c. where no unit is given."""
    return [Measured("Regulator pressure", Decimal(v), *more) for v, *more in figures]


@pytest.mark.parametrize(
    ("value", "outcome"),
    # 10.5 to 11.5 in w.c., common practice of the trade
    [
        ("10.499", "fault_found"),
        ("10.5", "done"),
        ("11.5", "done"),
        ("11.501", "fault_found"),
    ],
)
def test_regulator_pressure_then_the_limits_are_still_good(item, value, outcome):
    judged = judged_outcome(item, "done", of((value, "in w.c.")))

    assert judged.outcome == outcome
    assert judged.unfit == (outcome == "fault_found")


def test_another_unit_then_it_is_converted(item):
    """16 in w.c. are 0.578 psi: 249.0889 Pa an inch, NIST SP 811 (conventional)."""
    judged = judged_outcome(item, "done", of(("0.578", "psi")))

    assert judged.outcome == "fault_found"


def test_unit_of_another_kind_then_there_is_nothing_to_judge_by(item):
    assert judged_outcome(item, "done", of(("16", "V"))).outcome == "done"


def test_job_without_a_procedure_then_as_told(db):
    item = builders.make_item(builders.make_rig(), key="no_such")

    assert judged_outcome(item, "held", of(("99", "psi"))).outcome == "held"


# --- tread by place: 49 CFR 393.75(b) and (c) ----------------------------------------


def tread(*, kind="motorhome", gvwr=None, unit="lb", place="LF", maker=None, key=None):
    """How 3/32 in at a front wheel is judged."""
    wheels = "trailer_two" if kind == "travel_trailer" else "four"
    rig = builders.make_rig(kind=kind, wheels=wheels)
    if gvwr is not None:
        WeightLabel.objects.create(rig=rig, unit=unit, gvwr=gvwr)
    item = builders.make_item(rig, key=key or "tire_condition")
    if maker:
        figure = MakerFigure.objects.create(
            item=item, document="Book", entered_on=date(2026, 5, 4)
        )
        figure.values.create(name="tread", value=maker, unit="1/32 in")
    name = "outer groove" if key else "tread"
    return judged_outcome(item, "done", [Measured(name, Decimal(3), "1/32 in", place)])


@pytest.mark.parametrize(
    ("rig", "outside"),
    [
        # 49 CFR 390.5: a commercial vehicle by its weight has 10,001 lb or more
        ({"gvwr": 10001}, True),
        ({"gvwr": 10000}, False),
        ({"gvwr": 4537, "unit": "kg"}, True),  # 10,002.4 lb
        ({"gvwr": 4535, "unit": "kg"}, False),  # 9,998.0 lb
        ({"kind": "tow_vehicle", "gvwr": 14000}, True),
        ({"kind": "campervan", "gvwr": 11030}, True),
        # without a GVWR on record a motorhome counts as heavy
        ({}, True),
        ({"kind": "campervan"}, False),
        ({"kind": "tow_vehicle"}, False),
        ({"kind": "towed_car"}, False),
        ({"kind": "travel_trailer", "gvwr": 14000, "place": "L1"}, False),
        # (c): wheels that do not steer
        ({"gvwr": 14000, "place": "LR"}, False),
        ({"gvwr": 14000, "place": ""}, False),
        ({"gvwr": 14000, "key": "tire_wear_pattern"}, True),
        # the maker's figure can be stricter, not laxer
        ({"gvwr": 14000, "maker": 3}, True),
        ({"gvwr": 9000, "maker": 5}, True),
        ({"gvwr": 14000, "maker": 3, "place": "LR"}, False),
    ],
)
def test_tread_of_3_32_by_place_and_weight(db, rig, outside):
    judged = tread(**rig)

    assert (judged.outcome == "fault_found", judged.unfit) == (outside, outside)
    if outside:
        limit = rig["maker"] if rig.get("maker", 0) > 4 else 4
        assert judged.words.endswith(f"below the {limit}/32 in limit")


def test_tread_of_many_rigs_then_one_query_for_their_weights(
    db, django_assert_max_num_queries
):
    household = builders.make_household()
    rigs = [builders.make_rig(household) for _ in range(5)]
    items = [builders.make_item(rig, key="tire_condition") for rig in rigs]

    with django_assert_max_num_queries(4):
        judges_of(items)


def test_several_places_outside_then_said_once():
    judge = Judge(limits={"tread": Limits(Decimal(2), None, "1/32 in")})
    figures = [Measured("tread", Decimal(n), "1/32 in", p)
               for p, n in (("LF", 1), ("RF", 0), ("LR", 2))]  # fmt: skip

    words = judge.judge("done", figures).words

    assert words == "tread LF 1/32 in, RF 0/32 in: below the 2/32 in limit"


# --- what makes the rig unfit, and neighbors ------------------------------------------


def judged(key, *figures, outcome="done", wheels="four", maker=None):
    rig = builders.make_rig(wheels=wheels)
    item = builders.make_item(rig, key=key)
    if maker:
        name, value, unit = maker
        book = MakerFigure.objects.create(
            item=item, document="Placard", entered_on=date(2026, 5, 4)
        )
        book.values.create(name=name, value=value, unit=unit)
    measures = [Measured(n, Decimal(v), unit, p) for n, v, unit, p in figures]
    return judges_of([item])[item.pk].judge(outcome, measures)


def test_breakaway_battery_of_12_3_v_then_a_fault_but_not_dead(db):
    found = judged("breakaway_battery", ("rested voltage", "12.3", "V", ""))

    assert (found.outcome, found.unfit) == ("fault_found", False)


def test_breakaway_battery_said_to_be_faulty_then_unfit(db):
    assert judged("breakaway_battery", outcome="fault_found").unfit


def test_air_of_38_psi_where_the_placard_says_65_then_unfit(db):
    found = judged(
        "tire_pressure",
        *(("pressure", v, "psi", p) for p, v in (("LF", 38), ("RF", 38), ("LR", 64))),
        maker=("pressure", 65, "psi"),
    )

    assert found.unfit
    assert found.words == (
        "pressure LF 38 psi, RF 38 psi: 80 % or less of the manufacturer's 65 psi"
    )


def test_tread_of_3_8_and_8_on_one_tire_then_an_alignment_job(db):
    """49 CFR 393.75(c) asks for 2/32 in only: it is uneven, and may go on."""
    names = ("inner groove", "middle groove", "outer groove")
    found = judged(
        "tire_wear_pattern",
        *((name, v, "1/32 in", "LR") for name, v in zip(names, (3, 8, 8), strict=True)),
    )

    assert (found.outcome, found.unfit) == ("fault_found", False)
    assert found.words == (
        "inner groove LR 3/32 in: 5/32 in below 8/32 in, uneven across the tire: "
        "book an alignment before you buy tires"
    )


def test_one_hub_hotter_then_unfit(db):
    hubs = (("L1", 118), ("R1", 120), ("L2", 119), ("R2", 190))
    found = judged(
        "hub_heat_check",
        *(("hub temperature", v, "°F", p) for p, v in hubs),
        wheels="trailer_two",
    )

    assert found.unfit
    assert "R2 190 °F: 71 °F above 119 °F, much hotter" in found.words


@pytest.mark.parametrize("key", ["store_tires", "watch_tires"])
def test_air_in_storage_then_held_against_the_placard_of_the_rig(db, key):
    """The placard says 65 psi; it was entered once, at the job that sets pressures."""
    rig = builders.make_rig(wheels="four")
    figure = MakerFigure.objects.create(
        item=builders.make_item(rig, key="tire_pressure"),
        document="Placard",
        entered_on=date(2026, 5, 4),
    )
    figure.values.create(name="pressure", value=65, unit="psi")
    item = builders.make_item(rig, key=key)

    low = [Measured("pressure", Decimal(38), "psi", "LF")]
    found = judged_outcome(item, "done", low)

    assert (found.outcome, found.unfit) == ("fault_found", True)
    assert (
        found.words == "pressure LF 38 psi: 80 % or less of the manufacturer's 65 psi"
    )
    other = builders.make_item(builders.make_rig(rig.household), key=key)
    assert judged_outcome(other, "done", low).outcome == "done"


def test_own_figure_of_a_job_then_it_wins_over_that_of_another(db):
    rig = builders.make_rig(wheels="four")
    items = [
        builders.make_item(rig, key=key) for key in ("tire_pressure", "store_tires")
    ]
    for item, value in zip(items, (65, 45), strict=True):
        figure = MakerFigure.objects.create(
            item=item, document="Placard", entered_on=date(2026, 5, 4)
        )
        figure.values.create(name="pressure", value=value, unit="psi")

    at_38 = [Measured("pressure", Decimal(38), "psi", "LF")]

    assert judged_outcome(items[0], "done", at_38).outcome == "fault_found"
    assert judged_outcome(items[1], "done", at_38).outcome == "done"  # 84 % of 45
