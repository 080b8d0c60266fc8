"""What published rules ask of a maintenance record, and which of our fields hold it.

49 CFR 396.3(b) (motor carriers) and 14 CFR 43.9(a), 43.11(a), 91.417(a)(2) (aircraft)
bind no household; they are the best description of a record that is believed.
"""

import pytest
from django.apps import apps

CONTENT = {
    "49 CFR 396.3(b)(1): number, make, serial, year, tire size": (
        "vehicles.Rig.name",
        "vehicles.Rig.vin",
        "vehicles.Rig.year",
        "vehicles.Rig.plate",
        "vehicles.Rig.wheels",
    ),
    "49 CFR 396.3(b)(2): nature and due date of work to come": (
        "plans.PlanItem.title",
        "plans.PlanItem.triggers",
        "plans.Standing.standing",
        "plans.Standing.closes_on",
    ),
    "49 CFR 396.3(b)(3): inspections, repairs, maintenance: date and nature": (
        "service_records.ServiceRecord.on",
        "service_records.RecordLine.title",
        "service_records.RecordLine.outcome",
        "service_records.PartUsed.name",
    ),
    "14 CFR 43.9(a)(1): description of the work": (
        "service_records.RecordLine.title",
        "service_records.RecordLine.note",
        "service_records.RecordLine.measures",
        "service_records.RecordLine.steps",
    ),
    "14 CFR 43.9(a)(2): date of completion": (
        "service_records.ServiceRecord.on",
        "service_records.ServiceRecord.until",
    ),
    "14 CFR 43.9(a)(3): who did it, if another than who signs": (
        "service_records.ServiceRecord.doer",
        "service_records.ServiceRecord.done_by",
    ),
    "14 CFR 43.9(a)(4): signature, certificate number and kind": (
        "service_records.ServiceRecord.signed_off_by",
        "service_records.ServiceRecord.credential",
    ),
    "14 CFR 43.11(a)(1): type and extent of the inspection": (
        "service_records.RecordLine.item",
        "service_records.RecordLine.places",
        "service_records.TorquePlace.place",
        "service_records.TorquePlace.reached",
    ),
    "14 CFR 43.11(a)(2): date and total time in service": (
        "service_records.ServiceRecord.on",
        "service_records.ServiceRecord.values",
    ),
    "14 CFR 43.11(a)(4) and (5): fit, or the discrepancies": (
        "service_records.RecordLine.outcome",
        "findings.Finding.what",
        "findings.Finding.unfit",
        "service_records.LineFinding.line",
    ),
    "14 CFR 91.417(a)(2)(i): total time in service": (
        "vehicles.Reading.value",
        "vehicles.Rig.in_service_on",
    ),
    "14 CFR 91.417(a)(2)(ii): status of life-limited parts": (
        "components.Component.serial",
        "components.Component.made",
        "components.Component.label_years",
        "components.Component.tested",
        "components.Fitting.start",
        "components.Fitting.start_values",
    ),
    "14 CFR 91.417(a)(2)(iii): time since last overhaul": (
        "plans.Completion.on",
        "plans.Completion.values",
    ),
    "14 CFR 91.417(a)(2)(iv): inspection status and time since the last": (
        "plans.Completion.outcome",
        "plans.Standing.result",
        "plans.Standing.why",
    ),
}


@pytest.mark.parametrize("required", CONTENT)
def test_required_content_has_its_fields(required):
    for path in CONTENT[required]:
        app, model, field = path.split(".")
        assert apps.get_model(app, model)._meta.get_field(field).name == field


def test_every_rule_that_is_named_is_looked_at():
    rules = {required.split("(")[0] for required in CONTENT}

    assert rules == {"49 CFR 396.3", "14 CFR 43.9", "14 CFR 43.11", "14 CFR 91.417"}
