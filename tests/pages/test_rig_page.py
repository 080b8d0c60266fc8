"""What a rig's page shows of its last work."""

from uuid import uuid4

from maintenance.pages.queries import rig_page
from maintenance.service_records.same_work import merge_records
from maintenance.service_records.work import Line
from tests import builders
from tests.builders import TODAY


def test_last_work_leaves_out_what_was_merged_into_another_record(db):
    member = builders.make_member(role="keeper")
    rig = builders.make_rig(member.household)
    first, second = (
        builders.log_work(
            rig,
            by=member,
            today=TODAY,
            form_token=uuid4(),
            on=TODAY,
            lines=[Line("Wash")],
        )
        for _n in range(2)
    )

    merge_records(second, into=first, by=member, today=TODAY)

    assert rig_page(rig, TODAY).records == [first]
