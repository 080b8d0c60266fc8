"""A file that is on record and no longer on the disk."""

from uuid import uuid4

from django.urls import reverse

from maintenance.vehicles.models import Manual
from tests.builders import make_member, make_rig


def test_manual_whose_file_is_gone_then_words_and_where_to_get_it(db, client_as):
    keeper = make_member()
    manual = Manual.objects.create(
        rig=make_rig(keeper.household),
        title="Chassis book",
        content_type="application/pdf",
        stored=f"{uuid4()}.pdf",
        size=1,
        sha256="0" * 64,
    )

    answer = client_as(keeper).get(reverse("manual_file", args=[manual.key]))

    assert answer.status_code == 404
    assert "no longer on the disk" in answer.text
    assert "Restore it from a backup" in answer.text


def test_stay_from_the_last_day_there_is_then_no_traceback(db, client_as):
    keeper = make_member()
    rig = make_rig(keeper.household)

    answer = client_as(keeper).post(
        reverse("start_stay", args=[rig.pk]), {"start": "9999-12-31"}
    )

    assert answer.status_code in {200, 302}
