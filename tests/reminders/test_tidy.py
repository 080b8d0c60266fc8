"""What is let go, and what must stay however old it is."""

from datetime import timedelta
from io import BytesIO
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from PIL import Image

from maintenance.plans.models import Completion
from maintenance.reminders import tasks
from maintenance.reminders.models import AnsweredLink, Digest, HeldReminder, Notice
from maintenance.reminders.services import raise_notices, send_waiting, tidy
from maintenance.service_records.models import Attachment
from maintenance.service_records.proof import hold, path_of
from maintenance.work_sheets.models import SheetEntry
from tests.builders import TODAY
from tests.reminders.builders import digest_for, done, make_home, noon, overdue_item

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
LATER = noon(TODAY + 500 * DAY)


@pytest.fixture
def told(db):
    """One item, told of by a mail that was sent."""
    member, rig = make_home()
    item = overdue_item(rig)
    digest_for(member)
    send_waiting(noon(TODAY))
    return item


def test_tidy_when_the_work_was_done_since_then_its_notice_and_mail_go(told):
    done(told, TODAY + 9 * DAY)

    assert (tidy(LATER).notices, Notice.objects.count()) == (1, 0)
    assert Digest.objects.count() == 0


def test_tidy_when_the_work_still_stands_open_then_what_was_told_stays(told):
    assert tidy(LATER).notices == 0

    assert Digest.objects.get().notices.count() == 1


def test_tidy_when_it_is_not_old_then_it_stays(told):
    done(told, TODAY + 9 * DAY)

    assert tidy(noon(TODAY + 300 * DAY)).notices == 0


def test_tidy_when_run_twice_then_the_second_finds_nothing(told):
    done(told, TODAY + 9 * DAY)
    tidy(LATER)

    assert tidy(LATER) == type(tidy(LATER))(0, 0, 0)


def test_tidy_when_done_then_nothing_is_told_anew(told):
    done(told, TODAY + 9 * DAY)
    Completion.objects.filter(item=told).update(withdrawn=True)
    before = Notice.objects.count()
    tidy(LATER)
    raise_notices(told.rig.household, today=TODAY)

    assert Notice.objects.count() == before


def test_tidy_when_links_and_holds_have_run_out_then_they_go(told):
    member = told.notices.get().member
    HeldReminder.objects.create(item=told, member=member, until=TODAY)
    AnsweredLink.objects.create(
        key="x", member=member, at=noon(TODAY), what="y", expires_on=TODAY
    )

    assert tidy(noon(TODAY + 30 * DAY)).rest == 1  # the hold may still come back
    assert tidy(noon(TODAY + 70 * DAY)).rest == 1


def test_tidy_when_a_sheet_was_left_then_its_rows_go(told):
    SheetEntry.objects.create(item=told, field="a", value="1", kept_at=noon(TODAY))

    assert tidy(noon(TODAY + 20 * DAY)).rest == 0
    assert tidy(noon(TODAY + 40 * DAY)).rest == 1


def test_tidy_when_a_form_was_never_sent_then_its_files_go(told, clock):
    clock("2026-05-04 12:00", "America/Denver")
    member = told.notices.get().member
    photo = BytesIO()
    Image.new("RGB", (9, 9)).save(photo, "JPEG")
    upload = SimpleUploadedFile("bill.jpg", photo.getvalue(), "image/jpeg")
    held = hold(told.rig, by=member, form_token=uuid4(), upload=upload)
    file = path_of(held)
    assert file.exists()

    tidy(noon(TODAY + 13 * DAY))
    assert file.exists()
    tidy(noon(TODAY + 15 * DAY))

    assert (file.exists(), Attachment.objects.count()) == (False, 0)


def test_tidy_as_job_when_it_ran_today_then_not_again(told, clock):
    done(told, TODAY + 9 * DAY)
    clock("2027-10-01 12:00")
    tasks.tidy()
    assert Notice.objects.count() == 0
    overdue = overdue_item(told.rig, "other")
    Notice.objects.create(
        item=overdue,
        member=told.rig.household.members.get(),
        stage="due",
        cycle="x",
        raised_on=TODAY,
    )
    done(overdue, TODAY + DAY)

    tasks.tidy()
    assert Notice.objects.count() == 1
    clock("2027-10-02 12:00")
    tasks.tidy()
    assert Notice.objects.count() == 0


def test_tidy_as_job_and_as_command(told, capsys):
    tasks.tidy()
    call_command("tidy")

    assert capsys.readouterr().out == "Deleted: 0 reminders, 0 emails, 0 more.\n"
