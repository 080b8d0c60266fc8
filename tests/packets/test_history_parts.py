"""What a history says of parts of limited life."""

from datetime import date

import pytest

from maintenance.plans import services
from tests.builders import TODAY, make_household, make_member, make_rig
from tests.packets.reading import history_of

pytestmark = pytest.mark.django_db


def test_parts_tell_time_in_service_and_time_left():
    """14 CFR 91.417(a)(2)(ii): the current status of life-limited parts."""
    household = make_household()
    rig = make_rig(household)
    services.add_part(
        rig,
        by=make_member(household),
        today=TODAY,
        kind="cylinder",
        type="dot",
        serial="C-1188",
        on=date(2025, 1, 1),
        made="2019-05",
        keys=["cylinder_requalification"],
    )
    (row,) = history_of(rig).parts
    assert row.serial == "C-1188"
    assert row.made == "May 2019; 6 years 11 months old"
    assert row.service == "Jan 1, 2025, 1 year 4 months ago"
    (left,) = row.left
    assert left.endswith("5 years left, by May 31, 2031")


def test_a_rig_without_parts_has_no_such_section():
    assert history_of(make_rig()).parts == ()
