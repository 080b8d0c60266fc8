"""The quick faults on data, as `python -m tests.faults --on data` runs them."""

import pytest

from tests.faults.place import make_template, outcome
from tests.faults.table import NotRun, faults

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.whole_program,
]

QUICK = [fault for fault in faults("data") if fault.quick]


@pytest.fixture(scope="module")
def template(migrated, tmp_path_factory, django_db_blocker):
    folder = tmp_path_factory.mktemp("faults")
    empty = migrated(folder / "migrated") / "rigsite.db"
    with django_db_blocker.unblock():
        make_template(folder / "template", migrated=empty)
    return folder / "template"


@pytest.mark.parametrize("fault", QUICK, ids=lambda fault: fault.name)
def test_data_when_a_fault_strikes_then_as_it_is_to_be(fault, template):
    try:
        assert outcome(fault, template)
    except NotRun as reason:
        pytest.skip(f"{fault.name}: {reason}")
