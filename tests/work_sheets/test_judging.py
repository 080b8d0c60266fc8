"""A figure against the limit of its procedure: the limit itself is good."""

from decimal import Decimal

import pytest

from maintenance.plans.measures import Limits, Measured
from maintenance.work_sheets.judging import Judge, judged_outcome
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


def test_several_places_outside_then_said_once():
    judge = Judge(limits={"tread": Limits(Decimal(2), None, "1/32 in")})
    figures = [Measured("tread", Decimal(n), "1/32 in", p)
               for p, n in (("LF", 1), ("RF", 0), ("LR", 2))]  # fmt: skip

    words = judge.judge("done", figures).words

    assert words == "tread LF 1/32 in, RF 0/32 in: below the 2/32 in limit"
