from decimal import Decimal

import pytest

from maintenance.library.reading import load_library
from maintenance.plans.measures import Measured
from maintenance.plans.models import PlanItem
from maintenance.vehicles.models import Rig
from maintenance.work_sheets.forms.work_sheet import WorkSheetForm, step_field
from maintenance.work_sheets.sheet_view import source_words


def sheet(key, data=None, initial=None, **rig):
    on = Rig(**{"kind": "motorhome", "wheels": "four"} | rig)
    procedure = load_library().procedures[key]
    item = PlanItem(rig=on, key=key, system=procedure.system, triggers=[])
    return WorkSheetForm(data, item=item, procedure=procedure, initial=initial or {})


def problem(key, field, text):
    form = sheet(key, {field: text})
    return " ".join(form.errors.get(field, []))


def test_every_procedure_of_the_library_has_a_sheet():
    for key, procedure in load_library().procedures.items():
        form = sheet(key)
        assert len([n for n in form.fields if n.startswith("step_")]) == len(
            procedure.steps
        )


def test_step_goes_by_its_words():
    assert step_field("Open it.") != step_field("Open it slowly.")
    assert len(step_field("Open it.")) < 80


def test_wheels_are_those_of_the_rig():
    form = sheet("tire_pressure", kind="travel_trailer", wheels="trailer_two")

    measured = [name for name in form.fields if name.startswith("m_")]
    assert measured == [f"m_pressure_{place}" for place in ("L1", "R1", "L2", "R2")]


@pytest.mark.parametrize(
    ("key", "field", "text", "value"),
    [
        ("battery_rest_volts", "m_rested_voltage", "12,65", "12.65"),
        ("battery_rest_volts", "m_rested_voltage", "12.65 V", "12.65"),
        ("battery_rest_volts", "m_rested_voltage", "12650 mV", "12.65"),
        ("tire_pressure", "m_pressure_LF", "80", "80"),
        # NIST SP 811: 1 psi = 6.894757 kPa
        ("tire_pressure", "m_pressure_LF", "5.5 bar", "79.771"),
        ("tire_condition", "m_tread_LF", "5/32 in", "5"),
        ("coolant_test", "m_freezing_point", "-34", "-34"),
        ("air_brake_test", "m_loss_with_pedal_pressed", "2.5 psi/min", "2.5"),
        ("sanitize_fresh_water", "m_chlorine_after_rinsing", "3 ppm", "3"),
    ],
)
def test_value_is_kept_in_the_unit_of_the_measure(key, field, text, value):
    assert sheet(key, {field: text}).one(field) == value


@pytest.mark.parametrize(
    ("key", "field", "text", "words"),
    [
        ("battery_rest_volts", "m_rested_voltage", "full", "isn't a number"),
        ("battery_rest_volts", "m_rested_voltage", "12 psi", "is a unit of pressure"),
        ("tire_pressure", "m_pressure_LF", "-5", "can't be below zero"),
        ("tire_pressure", "m_pressure_LF", "99999999", "This is too large"),
        ("air_brake_test", "m_loss_with_pedal_pressed", "2 bar", "isn't a number"),
        ("lug_recheck", "figure", "tight", "isn't a number"),
    ],
)
def test_wrong_value_is_refused_at_its_field(key, field, text, words):
    assert words in problem(key, field, text)


def test_axle_without_its_name_is_asked_for():
    assert problem("weigh_loaded", "at_1", "") == ""
    form = sheet("weigh_loaded", {"m_axle_weight_1": "4200"})
    assert form.errors["at_1"] == ["Enter which one you measured, like LF."]


def test_measured_values_carry_wheel_or_place():
    form = sheet("weigh_loaded", {"at_2": "Rear axle", "m_axle_weight_2": "7 t"})

    assert form.is_valid()
    # NIST SP 811: 1 lb = 0.45359237 kg
    weight = Measured("axle weight", Decimal("15432.358"), "lb", "Rear axle")
    assert form.measured() == [weight]


def test_torque_is_kept_in_the_unit_that_was_chosen():
    form = sheet("lug_recheck", {"unit": "N·m", "figure": "190", "m_torque_LF": "190"})

    assert form.is_valid()
    assert form.measured() == [Measured("torque", Decimal(190), "N·m", "LF")]
    assert (form.kept()["figure"], form.kept()["unit"]) == ("190", "N·m")


def test_torque_figures_of_another_work_have_no_wheels():
    form = sheet("ac_bolts", {"m_torque": "50"})

    assert not form.lugs
    assert "figure" not in form.fields


def test_only_what_was_filled_in_is_kept():
    step = step_field(load_library().procedures["pump_strainer"].steps[0])
    form = sheet("pump_strainer", {step: "on", "note": " ", "strange": "x"})

    assert form.is_valid()
    assert form.kept() == {step: "on"}


def test_paper_asks_for_its_new_date():
    procedure = load_library().procedures["registration_renewal"]
    item = PlanItem(
        rig=Rig(wheels="four"),
        system="papers",
        anchored=True,
        triggers=[{"every": {"months": 12}}],
    )
    form = WorkSheetForm({"expires": "2027-06-30"}, item=item, procedure=procedure)

    assert form.is_valid()
    assert form.kept() == {"expires": "2027-06-30"}


def test_each_field_is_sent_by_itself_and_says_where_the_answer_goes():
    form = sheet("lug_recheck")
    form.keep_at("/items/1/sheet/")

    attrs = form.fields["m_torque_LF"].widget.attrs
    assert attrs["data-hx-post"] == "/items/1/sheet/"
    assert attrs["data-hx-params"] == "csrfmiddlewaretoken,field,m_torque_LF"
    assert attrs["data-hx-target"] == "#said-m_torque_LF"
    assert form.fields["figure"].widget.attrs["data-hx-target"] == "#wrenches"
    assert form.fields["note"].widget.attrs["data-hx-target"] == "#sheet-progress"


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("tire_wear_pattern", "published: 49 CFR 393.75(c)"),
        (
            "lug_recheck",
            "common practice: the figure on the invoice of the shop that fitted the "
            "wheel",
        ),
    ],
)
def test_source_of_a_limit_is_named_beside_it(key, words):
    procedure = load_library().procedures[key]

    assert source_words(procedure, procedure.measures[0]) == words


def test_every_limit_of_the_library_has_its_source_beside_it():
    lacking = [
        (procedure.key, measure.name)
        for procedure in load_library().procedures.values()
        for measure in procedure.measures
        if (measure.low or measure.high) and not source_words(procedure, measure)
    ]
    assert lacking == []
