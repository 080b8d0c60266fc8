"""A clock that is ahead, is set back, or jumps: what waits, what goes, what comes back.
The machine's own counting is told by the test; the rule is in `core/clock.py`."""

from datetime import UTC, timedelta

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse
from django.utils import timezone

from maintenance.core.clock import Look
from maintenance.findings.models import Finding
from maintenance.households.models import Household
from maintenance.plans.day_change import renew_behind
from maintenance.plans.models import Standing
from maintenance.plans.services import defer
from maintenance.plans.standings import renew_household
from maintenance.reminders import machine_clock, tasks
from maintenance.reminders.models import (
    Digest,
    FindingNotice,
    MachineClock,
    Notice,
    StayQuestion,
    SweepMark,
)
from maintenance.reminders.services import (
    clock_in_doubt,
    clock_is_trusted,
    raise_everywhere,
    raise_notices,
    send_waiting,
    tidy_once_a_day,
)
from maintenance.vehicles.models import Stay
from tests.builders import TODAY, make_member
from tests.reminders.builders import (
    due_item,
    entered,
    make_home,
    noon,
    overdue_item,
    soon_item,
    stages,
    yearly,
)

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


class Machine:
    def __init__(self, clock) -> None:
        self.set, self.boot, self.up, self.on_network = clock, "a", 0.0, False

    def show(self, days: int, *, counted: int = 0, boot: str = "") -> None:
        """Its clock so many days after TODAY; `counted` is how long it really was."""
        self.set(f"{TODAY + days * DAY} 12:00", "America/Denver")
        self.boot = boot or self.boot
        self.up = 0.0 if boot else self.up + counted * DAY.total_seconds()


@pytest.fixture
def machine(clock, monkeypatch) -> Machine:
    made = Machine(clock)
    monkeypatch.setattr(machine_clock, "look", lambda at: Look(at, made.boot, made.up))
    monkeypatch.setattr(machine_clock, "is_set_by_network", lambda: made.on_network)
    made.show(0)
    return made


@pytest.fixture
def home(machine):
    member, rig = make_home()
    renew_household(member.household, as_of=TODAY)
    tasks.send_digests()
    return member, rig


def beat() -> None:
    """What the schedule runs, after something was entered."""
    entered(Household.objects.get())
    renew_behind(timezone.now())
    tasks.raise_notices()
    tasks.send_digests()


def digests() -> list[str]:
    return list(Digest.objects.order_by("pk").values_list("key", flat=True))


# --- ahead, and set back --------------------------------------------------------------


def test_standings_of_a_clock_ahead_then_anew_by_the_first_look(home, client_as):
    member, rig = home
    soon_item(rig)
    renew_household(member.household, as_of=TODAY + 400 * DAY)
    assert Standing.objects.get().standing == "overdue"

    client_as(member).get(reverse("due"))

    assert Standing.objects.get().standing == "soon"


def test_standings_of_a_clock_ahead_then_anew_by_the_job_and_looked_at(home):
    member, rig = home
    soon_item(rig)
    renew_household(member.household, as_of=TODAY + 400 * DAY)
    Household.objects.update(next_notice_on=TODAY + 500 * DAY)

    assert renew_behind(timezone.now()) == 1

    assert Standing.objects.get().standing == "soon"
    assert raise_everywhere(timezone.now()) == 1


def test_recheck_by_a_clock_that_was_ahead_then_it_does_not_agree(home, capsys):
    member, rig = home
    soon_item(rig)
    renew_household(member.household, as_of=TODAY + 400 * DAY)

    with pytest.raises(SystemExit):
        call_command("recheck")

    assert "stored overdue" in capsys.readouterr().out


def test_deferral_that_a_clock_ahead_ended_then_it_goes_on(home):
    member, rig = home
    item = overdue_item(rig)
    until = TODAY + 20 * DAY
    row = defer(item, by=member, today=TODAY, why="No time", until=until)
    renew_household(member.household, as_of=TODAY + 400 * DAY)
    row.refresh_from_db()
    assert row.ended

    renew_household(member.household, as_of=TODAY)

    row.refresh_from_db()
    assert (row.ended, row.ended_on) == (False, None)


def test_notices_of_a_clock_ahead_then_those_of_today_stay_and_the_rest_goes(home):
    member, rig = home
    overdue_item(rig)
    yearly(rig, "later", TODAY + 200 * DAY)
    stay = Stay.objects.create(
        rig=rig, start=TODAY - 9 * DAY, planned_until=TODAY + 30 * DAY
    )
    raise_notices(member.household, today=TODAY)
    raise_notices(member.household, today=TODAY + 400 * DAY)
    assert ("later", "overdue") in stages()
    assert StayQuestion.objects.filter(stay=stay).exists()

    raise_notices(member.household, today=TODAY)

    assert stages() == [("overdue", "overdue")]
    assert not StayQuestion.objects.exists()
    assert Notice.objects.get().raised_on == TODAY


def test_finding_told_by_a_clock_ahead_then_its_repeats_come_in_their_time(home):
    member, rig = home
    Finding.objects.create(rig=rig, what="Cracked wheel", unfit=True, found_on=TODAY)
    raise_notices(member.household, today=TODAY)
    raise_notices(member.household, today=TODAY + 30 * DAY)
    assert FindingNotice.objects.count() == 2

    raise_notices(member.household, today=TODAY)

    assert [row.number for row in FindingNotice.objects.all()] == [0]


def test_marks_and_pauses_of_a_clock_ahead_then_nothing_waits_for_it(home):
    overdue_item(home[1])
    beat()
    far = timezone.now() + 400 * DAY
    Digest.objects.update(next_attempt_at=far)
    SweepMark.objects.create(name="tidy", at=far)

    tidy_once_a_day(timezone.now())
    tasks.send_digest(Digest.objects.get().pk)

    assert SweepMark.objects.get(name="tidy").at == timezone.now()
    assert Digest.objects.get().state == "in_tray"


def found(member):
    """The founder looks after the machine."""
    member.founder = True
    member.save()
    return member


# --- a jump is noticed ----------------------------------------------------------------


def test_clock_ahead_then_daily_mail_waits_until_the_founder_confirms(
    home, machine, client_as
):
    member, rig = home
    found(member)
    due_item(rig)
    machine.show(40)

    beat()
    told = f"clock:{member.pk}:{noon(TODAY).astimezone(UTC).isoformat()}"
    assert (digests(), clock_in_doubt() is None) == ([told], False)

    assert reverse("clock") in client_as(member).get(reverse("status")).text
    page = " ".join(client_as(member).get(reverse("clock")).text.split())
    assert "it was May 4, 2026, 12:00 PM, and then Jun 13, 2026, 12:00 PM" in page
    client_as(member).post(reverse("clock"))
    beat()

    assert digests() == [told, f"digest:{member.pk}:{TODAY + 40 * DAY}"]


def test_clock_ahead_then_one_mail_tells_the_founder(
    home, machine, smtp, settings, client_as
):
    settings.PUBLIC_URL = "https://rigs.example.org"
    member, rig = home
    found(member)
    make_member(member.household, name="Tobin", email="tobin@example.org")
    due_item(rig)
    for days in (40, 41, 42):
        machine.show(days, counted=days - 40)
        beat()
        send_waiting(timezone.now())

    (mail,) = smtp.messages
    assert mail["To"].addresses[0].addr_spec == member.user.email
    assert mail["Subject"] == "Check the date: daily email is on hold"
    text = " ".join(mail.get_body(("plain",)).get_content().split())
    assert "it was May 4, 2026, 12:00 PM, and then Jun 13, 2026, 12:00 PM" in text
    assert "https://rigs.example.org" + reverse("clock") in text

    machine.show(500)  # another jump before it was set right is none for this mail
    beat()
    client_as(member).post(reverse("clock"))
    machine.show(900)
    beat()
    assert len([key for key in digests() if key.startswith("clock:")]) == 2


def test_clock_set_right_before_the_mail_about_it_went_then_it_stays_here(
    home, machine
):
    found(home[0])
    machine.show(40)
    beat()
    machine.show(0)
    beat()

    send_waiting(timezone.now())

    assert [row.state for row in Digest.objects.all()] == ["empty"]


def test_clock_ahead_then_safety_is_told_all_the_same(home, machine):
    _member, rig = home
    overdue_item(rig, safety=True)
    overdue_item(rig, "other")
    machine.show(40)

    beat()
    beat()

    mail = Digest.objects.get()
    assert not mail.is_daily
    assert {key for key, _stage in stages(mail.notices.all())} == {"overdue"}


def test_clock_set_right_then_daily_mail_goes_on_without_a_word(home, machine):
    member, rig = home
    overdue_item(rig)
    machine.show(40)
    beat()

    machine.show(1, counted=1)
    beat()

    assert clock_in_doubt() is None
    assert digests() == [f"digest:{member.pk}:{TODAY + DAY}"]


def test_clock_back_then_daily_mail_waits(home, machine):
    overdue_item(home[1])
    machine.show(-300)

    beat()

    assert digests() == []
    assert clock_in_doubt() is not None


def test_two_weeks_asleep_or_off_then_no_jump(home, machine):
    overdue_item(home[1])
    machine.show(14, counted=14)
    assert clock_is_trusted(timezone.now())
    machine.show(28, boot="b")
    assert clock_is_trusted(timezone.now())

    beat()

    assert len(digests()) == 1


def test_clock_that_the_network_sets_right_then_trusted(home, machine):
    machine.on_network = True
    machine.show(40)

    assert clock_is_trusted(timezone.now())


def test_clock_in_doubt_then_nothing_is_tidied(home, machine):
    machine.show(500)

    tasks.tidy()

    assert not SweepMark.objects.filter(name="tidy").exists()


def test_clock_in_doubt_on_another_machine_then_mail_waits_here_too(home):
    MachineClock.objects.create(
        machine="other", at=noon(TODAY), up=0, doubted_at=noon(TODAY + 90 * DAY)
    )

    assert not clock_is_trusted(timezone.now())


def test_command_confirm_clock_then_daily_mail_goes_out(home, machine, capsys):
    overdue_item(home[1])
    machine.show(40)
    beat()
    with pytest.raises(CommandError, match="Set its clock"):
        call_command("confirm_clock", "--date", str(TODAY))

    call_command("confirm_clock", "--date", str(TODAY + 40 * DAY))
    beat()

    assert "Daily email goes out again" in capsys.readouterr().out
    assert len(digests()) == 1


def test_page_when_nothing_is_wrong_then_it_says_so(home, client_as):
    page = client_as(found(home[0])).get(reverse("clock")).text

    assert "hasn't jumped" in page


def test_machine_when_asked_then_its_start_has_a_name_and_it_counts():
    first = machine_clock.look(timezone.now())
    second = machine_clock.look(timezone.now())

    assert first.boot == second.boot
    assert first.up <= second.up
    assert machine_clock.is_set_by_network() in {True, False}


@pytest.mark.parametrize("role", ["keeper", "crew", "viewer"])
def test_page_for_who_keeps_nothing_then_refused(home, client_as, role):
    client = client_as(make_member(home[0].household, role))

    assert client.get(reverse("clock")).status_code == 403
    assert client.post(reverse("clock")).status_code == 403
