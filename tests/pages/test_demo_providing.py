"""Having the demo at hand: loaded once, login kept, refused in company, removed."""

import datetime as dt
import io
import stat

import pytest
from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.core.management import call_command
from django.core.management.base import CommandError
from django.urls import reverse
from PIL import Image

from maintenance.findings.models import Finding
from maintenance.households.models import ActivityEntry, Household, Member
from maintenance.households.refusals import Refused
from maintenance.pages.demo import providing
from maintenance.pages.demo.providing import login_file, provide_demo, remove_demo
from maintenance.pages.demo.story import StoryError
from maintenance.plans.models import PlanItem, Standing
from maintenance.service_records.models import Attachment, ServiceRecord
from maintenance.service_records.proof import path_of
from maintenance.service_records.queries import fixed_by
from tests import builders
from tests.pages.demo_parts import write_small_story

NOW = dt.datetime(2026, 5, 4, 12, tzinfo=dt.UTC)


@pytest.fixture(autouse=True)
def _small_story(db, settings, tmp_path, monkeypatch):
    photo = io.BytesIO()
    Image.new("RGB", (8, 6)).save(photo, "JPEG")
    folder = write_small_story(tmp_path / "story", photo.getvalue())
    monkeypatch.setattr(providing, "fixtures", lambda: folder)
    settings.DATA = tmp_path


def load(**options):
    return provide_demo(**{"as_of": None, "now": NOW} | options)


def demo():
    return Household.objects.get(is_demo=True)


def standings():
    rows = Standing.objects.filter(item__rig__household__is_demo=True)
    return dict(rows.values_list("item__key", "standing"))


def test_load_gives_logins_that_work_keeper_first(client):
    login = load()

    assert login.usernames == ["demo-keeper", "demo-viewer", "demo-crew"]
    for name in login.usernames:
        words = {"username": name, "password": login.password}
        assert client.post(reverse("login"), words)["Location"] == reverse("due")
        client.logout()


def test_load_a_second_time_changes_nothing_and_gives_the_same_login():
    first, before = load(), standings()
    records = ServiceRecord.objects.count()

    assert load() == first
    assert standings() == before
    assert ServiceRecord.objects.count() == records


def test_password_is_new_for_every_load_and_kept_for_this_user_only():
    first = load()
    mode = stat.S_IMODE(login_file().stat().st_mode)

    assert mode == 0o600
    assert login_file().read_text().strip() == first.password
    assert load(reset=True).password != first.password


def test_password_that_looks_like_a_login_is_drawn_again(monkeypatch):
    drawn = iter(["demo", "keep", "erde", "moke", "bafi", "dolu", "mane", "tisu"])
    monkeypatch.setattr(providing, "_word", lambda: next(drawn))

    password = providing.new_password([User(username="demo-keeper")])

    assert password == "bafi-dolu-mane-tisu"


def test_a_lost_password_file_gives_everybody_a_new_password():
    first = load()
    login_file().unlink()

    login = load()

    assert login.password != first.password
    user = get_user_model().objects.get(username="demo-crew")
    assert user.check_password(login.password)


def test_load_beside_a_household_is_refused_and_stores_nothing():
    builders.make_household(name="Alder Lane")

    with pytest.raises(Refused, match="Alder Lane"):
        load()

    assert Household.objects.count() == 1
    assert not login_file().exists()


def test_load_beside_is_done_when_asked_for():
    builders.make_household(name="Alder Lane")

    load(beside=True)

    assert demo().name == "Two Gate Lane"


def test_another_day_for_a_loaded_demo_needs_reset():
    load()
    day = dt.date(2026, 4, 1)

    with pytest.raises(Refused, match="--reset"):
        load(as_of=day)

    load(as_of=day, reset=True)
    assert demo().reckoned_on == day


def test_a_day_still_to_come_is_refused_and_keeps_the_demo():
    load()

    with pytest.raises(Refused, match="still to come"):
        load(as_of=dt.date(2026, 5, 5), reset=True)

    assert demo()


def test_today_is_that_of_the_demo_s_own_time_zone():
    late = dt.datetime(2026, 5, 4, 3, tzinfo=dt.UTC)  # still 3 May in Los Angeles

    load(now=late)

    assert demo().reckoned_on == dt.date(2026, 5, 3)


def test_reset_gives_the_same_standings():
    load()
    before = standings()

    load(reset=True)

    assert standings() == before
    assert Household.objects.filter(is_demo=True).count() == 1


def test_remove_leaves_nothing_of_the_demo_and_all_of_others(
    django_capture_on_commit_callbacks,
):
    other = builders.make_item(builders.make_rig())
    load(beside=True)
    file = path_of(Attachment.objects.get())
    assert file.exists()

    with django_capture_on_commit_callbacks(execute=True):
        remove_demo(demo())

    assert not file.exists()
    for model in (Household, PlanItem):
        assert model.objects.count() == 1
    for model in (ServiceRecord, Finding, Attachment, Member, ActivityEntry):
        assert not model.objects.exists()
    assert not get_user_model().objects.exists()
    other.refresh_from_db()


def test_remove_refuses_a_household_of_people():
    with pytest.raises(ValueError, match="no demo"):
        remove_demo(builders.make_household())


def test_a_story_that_cannot_be_read_keeps_the_demo_there_was():
    load()
    (providing.fixtures() / "rounds.toml").unlink()

    with pytest.raises(StoryError, match=r"rounds\.toml"):
        load(reset=True)

    assert standings()


def test_what_was_entered_bears_its_own_evening():
    load()

    record = ServiceRecord.objects.get(lines__item__key="tire_pressure")
    assert record.entered_at.astimezone(demo().zone).date() == record.on
    late = ServiceRecord.objects.get(lines__item__key="hand_wash_look")
    assert late.is_late_entry
    newest = ActivityEntry.objects.first()
    assert newest.at.astimezone(demo().zone).date() == dt.date(2026, 5, 3)


def test_faults_open_findings_and_later_work_puts_them_right():
    load()

    finding = Finding.objects.get()
    assert finding.state == "fixed"
    assert fixed_by(finding).title == "Bulb renewed"


def test_command_prints_the_login(capsys):
    call_command("load_demo")

    words = capsys.readouterr().out
    assert "demo-keeper, demo-viewer, demo-crew" in words
    assert login_file().read_text().strip() in words


def test_command_says_in_one_line_why_not():
    builders.make_household(name="Alder Lane")

    with pytest.raises(CommandError, match="lives here"):
        call_command("load_demo")


def test_command_refuses_what_is_no_day():
    with pytest.raises(CommandError, match=r"'2026-13-01' isn't a day"):
        call_command("load_demo", "--as-of", "2026-13-01")
