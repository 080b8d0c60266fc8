"""Invitations, roles, passwords, logins: who may do what, and what ends with it."""

import io
from datetime import timedelta

import pytest
from django.contrib.auth.hashers import make_password
from django.core.management import CommandError, call_command
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from maintenance.households import one_time_links, services
from maintenance.households.access import NotAllowed
from maintenance.households.login_sessions import device_words, forget_ended
from maintenance.households.models import LoginSession, Member, OneTimeLink, Role
from maintenance.households.refusals import Refused
from tests import builders

PHRASE = "quiet paper lantern"
PERSON = {"name": "Bo", "username": "bo", "email": "", "password": PHRASE}
JOINING = PERSON | {"again": PHRASE}
ANDROID = (
    "Mozilla/5.0 (Android 15; Mobile; rv:140.0) Gecko/140.0 Firefox/140.0",
    "Firefox on Android",
)
IPHONE = (
    "Mozilla/5.0 (iPhone; CPU iPhone OS 18_5 like Mac OS X) AppleWebKit/605.1.15 "
    "(KHTML, like Gecko) Version/18.5 Mobile/15E148 Safari/604.1",
    "Safari on an iPhone",
)
EDGE = (
    "Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) "
    "Chrome/140.0.0.0 Safari/537.36 Edg/140.0.0.0",
    "Edge on Windows",
)


@pytest.fixture
def keeper(db):
    return builders.make_member()


@pytest.fixture
def crew(keeper):
    return builders.make_member(keeper.household, Role.CREW)


def invited(keeper, role=Role.CREW):
    now = timezone.now()
    return one_time_links.invite(keeper, name="Bo", role=role, now=now)


def path_of(link, rf):
    return one_time_links.url_of(link, rf.get("/")).removeprefix("http://testserver")


def logs_in(**login):
    return Client().post(reverse("login"), login).status_code == 302


def browser_of(member, agent):
    client = Client(headers={"user-agent": agent})
    login = {"username": member.user.username, "password": builders.PASSWORD}
    client.post(reverse("login"), login)
    return client


# --- invitations ----------------------------------------------------------------------


def test_invitation_when_opened_then_its_person_chooses_login_and_password(
    keeper, client_as, client
):
    told = client_as(keeper).post(reverse("invite"), {"name": "Bo", "role": "crew"})
    page = client_as(keeper).get(told["Location"])
    url = page.text.split('readonly value="')[1].split('"')[0]

    answer = client.post(url, JOINING, follow=True)

    member = Member.objects.get(user__username="bo")
    assert (member.role, member.household) == (Role.CREW, keeper.household)
    assert answer.wsgi_request.user == member.user
    assert "no-store" in page["Cache-Control"]
    assert logs_in(username="bo", password=PHRASE)
    household = client_as(keeper).get(reverse("household")).text
    assert f"Bo joined by invitation, from {keeper.name}</li>" in household


def test_invitation_when_used_once_then_it_opens_no_more(keeper, client, rf):
    url = path_of(invited(keeper), rf)
    client.post(url, JOINING)

    again = Client().post(url, JOINING | {"username": "cy"})

    assert again.status_code == 404
    assert "Ask the sender" in again.text
    assert not Member.objects.filter(user__username="cy").exists()


@pytest.mark.parametrize("days", [8, 365])
def test_invitation_when_too_old_then_it_opens_no_more(days, keeper, client, rf, clock):
    clock("2026-05-04")
    url = path_of(invited(keeper), rf)
    clock(f"{2026 + days // 365}-05-12")

    assert client.get(url).status_code == 404


@pytest.mark.parametrize("token", ["x", "a" * 500, "W10:1abc:xyz", "٣", "%00"])
def test_link_when_it_is_no_link_then_words(token, db, client):
    answer = client.get(f"/join/{token}/")

    assert answer.status_code == 404
    assert "was used, canceled" in answer.text


def test_invitation_when_its_keeper_is_one_no_more_then_it_is_gone(keeper, rf, client):
    other = builders.make_member(keeper.household, Role.KEEPER)
    url = path_of(invited(other, Role.KEEPER), rf)

    services.change_role(other, by=keeper, role=Role.VIEWER)

    assert client.get(url).status_code == 404


def test_invitation_when_withdrawn_then_it_is_gone(keeper, client_as, client, rf):
    link = invited(keeper)
    url = path_of(link, rf)

    client_as(keeper).post(reverse("withdraw_link", args=[link.pk]))

    assert client.get(url).status_code == 404


def test_link_of_another_household_is_not_shown(keeper, client_as):
    link = invited(keeper)
    stranger = client_as(builders.make_member())

    assert stranger.get(reverse("one_time_link", args=[link.pk])).status_code == 404
    shown = reverse("withdraw_link", args=[link.pk])
    assert stranger.post(shown).status_code == 404
    assert OneTimeLink.objects.count() == 1


def test_invitation_when_the_login_name_is_taken_then_the_link_stays_good(
    keeper, client, rf
):
    url = path_of(invited(keeper), rf)

    answer = client.post(url, JOINING | {"username": keeper.user.username})

    assert "taken" in answer.text
    assert PHRASE not in answer.text
    assert client.post(url, JOINING).status_code == 302


# --- passwords ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("password", "words"),
    [
        ("seven77", "Use at least 8 characters"),
        ("password1", "guessed first"),
        ("iloveyou", "guessed first"),
        ("crewmate-zed", "too much like your name"),
    ],
)
def test_password_when_weak_then_words_and_never_itself(password, words, client_as, db):
    member = builders.make_member(username="crewmate-zed")
    filled = {"old": builders.PASSWORD, "password": password, "again": password}

    answer = client_as(member).post(reverse("change_password"), filled)

    assert words in answer.text
    assert f'value="{password}"' not in answer.text
    member.user.refresh_from_db()
    assert member.user.check_password(builders.PASSWORD)


@pytest.mark.parametrize(
    "password", ["eight ch", " spaced  phrase ", "3141592653589793", "Größe & çödé 🚐"]
)
def test_password_when_of_any_signs_then_taken_to_the_letter(
    password, keeper, client_as
):
    filled = {"old": builders.PASSWORD, "password": password, "again": password}

    answer = client_as(keeper).post(reverse("change_password"), filled)

    assert answer.status_code == 302
    keeper.user.refresh_from_db()
    assert keeper.user.check_password(password)


def test_password_when_old_ones_are_short_then_they_still_log_in(keeper, client):
    keeper.user.password = make_password("abc")
    keeper.user.save()
    login = {"username": keeper.user.username, "password": "abc"}

    assert client.post(reverse("login"), login).status_code == 302


def test_password_when_the_two_differ_then_nothing_changes(keeper, client_as):
    filled = {"old": builders.PASSWORD, "password": PHRASE, "again": f"{PHRASE}s"}

    answer = client_as(keeper).post(reverse("change_password"), filled)

    assert "match. Type both again" in answer.text
    keeper.user.refresh_from_db()
    assert keeper.user.check_password(builders.PASSWORD)


def test_password_when_changed_then_only_this_browser_stays_in(keeper, client_as):
    here, elsewhere = client_as(keeper), client_as(keeper)
    filled = {"old": builders.PASSWORD, "password": PHRASE, "again": PHRASE}

    here.post(reverse("change_password"), filled)

    assert here.get(reverse("due")).status_code == 200
    assert elsewhere.get(reverse("due")).status_code == 302


def test_old_password_when_guessed_then_the_tries_run_out(keeper, client_as):
    client = client_as(keeper)
    filled = {"old": "wrong", "password": PHRASE, "again": PHRASE}

    statuses = [
        client.post(reverse("change_password"), filled).status_code for _n in range(9)
    ]

    assert statuses[0] == 200
    assert statuses[-1] == 429


def test_password_link_when_used_then_a_new_password_and_old_logins_end(
    keeper, crew, client_as, client, rf
):
    before = client_as(crew)
    told = client_as(keeper).post(reverse("offer_new_password", args=[crew.pk]))
    link = OneTimeLink.objects.get()
    url = path_of(link, rf)

    answer = client.post(url, {"password": PHRASE, "again": PHRASE})

    assert told["Location"] == reverse("one_time_link", args=[link.pk])
    assert answer.status_code == 302
    assert before.get(reverse("due")).status_code == 302
    assert logs_in(username=crew.user.username, password=PHRASE)
    assert Client().get(url).status_code == 404


def test_password_link_lasts_a_day(keeper, crew, client, rf, clock):
    clock("2026-05-04 12:00")
    link = one_time_links.offer_new_password(crew, by=keeper, now=timezone.now())
    clock("2026-05-05 12:01")

    assert client.get(path_of(link, rf)).status_code == 404


def test_password_link_for_the_founder_is_refused(keeper):
    founder = builders.make_member(keeper.household, founder=True)

    with pytest.raises(Refused, match="reset_password"):
        one_time_links.offer_new_password(founder, by=keeper, now=timezone.now())


def test_password_link_needs_a_keeper(keeper, crew):
    with pytest.raises(NotAllowed):
        one_time_links.offer_new_password(keeper, by=crew, now=timezone.now())


def test_reset_password_by_command(keeper, client_as, monkeypatch):
    before = client_as(keeper)
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{PHRASE}\n"))
    said = io.StringIO()

    call_command("reset_password", keeper.user.username.upper(), stdout=said)

    assert PHRASE not in said.getvalue()
    assert logs_in(username=keeper.user.username, password=PHRASE)
    assert before.get(reverse("due")).status_code == 302


def test_reset_password_when_nobody_is_called_so_then_the_names(keeper):
    with pytest.raises(CommandError, match=keeper.user.username):
        call_command("reset_password", "nobody")


# --- roles, and who founded the program -----------------------------------------------


def test_role_when_changed_then_it_holds_at_once(keeper, crew, client_as):
    theirs = client_as(crew)

    url = reverse("change_role", args=[crew.pk])
    client_as(keeper).post(url, {"role": "keeper"})

    assert theirs.get(reverse("invite")).status_code == 200


def test_role_of_the_only_keeper_stays(keeper):
    with pytest.raises(Refused, match="needs a keeper"):
        services.change_role(keeper, by=keeper, role=Role.CREW)


def test_role_change_by_crew_is_refused(keeper, crew):
    with pytest.raises(NotAllowed):
        services.change_role(keeper, by=crew, role=Role.VIEWER)


def test_founder_keeps_role_and_place_until_it_is_handed_on(keeper):
    founder = builders.make_member(keeper.household, founder=True)

    with pytest.raises(Refused, match="Hand over to another"):
        services.change_role(founder, by=keeper, role=Role.CREW)
    with pytest.raises(Refused, match="Hand over to another"):
        services.part_with(founder, by=keeper, today=builders.TODAY)


def test_program_when_handed_on_then_status_goes_with_it(keeper, client_as):
    founder = builders.make_member(keeper.household, founder=True)

    client_as(founder).post(reverse("hand_on"), {"to": keeper.pk})

    assert client_as(keeper).get(reverse("status")).status_code == 200
    assert client_as(founder).get(reverse("status")).status_code == 403


def test_program_goes_to_keepers_only(keeper, crew, client_as):
    founder = builders.make_member(keeper.household, founder=True)

    client_as(founder).post(reverse("hand_on"), {"to": crew.pk})

    assert Member.objects.get(founder=True) == founder
    with pytest.raises(Refused, match="isn't a keeper"):
        services.hand_on_founding(crew, by=founder)
    with pytest.raises(NotAllowed):
        services.hand_on_founding(keeper, by=keeper)


def test_there_is_one_founder(keeper):
    builders.make_member(keeper.household, founder=True)

    with pytest.raises(IntegrityError), transaction.atomic():
        builders.make_member(keeper.household, founder=True)


def test_name_founder_by_command(keeper, crew):
    call_command("name_founder", keeper.user.username, stdout=io.StringIO())

    keeper.refresh_from_db()
    assert keeper.founder
    with pytest.raises(CommandError, match="isn't a keeper"):
        call_command("name_founder", crew.user.username)


def test_first_run_when_won_by_somebody_else_meanwhile_then_words(db):
    home = {"timezone": "America/Denver", "today": builders.TODAY}
    services.found_household(name="One", keeper=PERSON, **home)
    second = PERSON | {"username": "cy"}

    with pytest.raises(Refused, match="Someone else just set up"):
        services.found_household(name="Two", keeper=second, **home)


# --- logins ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("agent", "words"), [ANDROID, IPHONE, EDGE, ("", "A browser"), ("\0", "A browser")]
)
def test_device_in_words(agent, words):
    assert device_words(agent) == words


def test_logins_show_each_browser_and_when_it_was_seen(keeper, clock):
    clock("2026-05-04 15:00")
    browser_of(keeper, IPHONE[0]).get("/")
    here = browser_of(keeper, ANDROID[0])
    clock("2026-05-06 15:00")

    page = here.get(reverse("logins"))

    text = " ".join(page.text.split())
    seen = "<span>Last seen: May 4, 2026, 9:00 AM</span>"
    assert f'Safari on an iPhone</span> <p class="meta">{seen}</p>' in text
    assert "Firefox on Android (this one)" in text
    assert not [
        row for row in LoginSession.objects.all() if row.session_key in page.text
    ]


def test_logins_are_written_down_once_an_hour(keeper, client_as, clock):
    client = client_as(keeper)
    seen = []
    for minute in ("10:00", "10:59", "11:01"):
        clock(f"2026-05-04 {minute}")
        client.get(reverse("due"))
        seen.append(LoginSession.objects.get().seen_at.strftime("%H:%M"))

    assert seen == ["10:00", "10:00", "11:01"]


def test_one_login_when_ended_elsewhere_then_that_browser_is_out(keeper, client_as):
    lost, here = client_as(keeper), client_as(keeper)
    lost.get("/")
    rows = here.get(reverse("logins")).context["rows"]
    handle = next(one["handle"] for one in rows if not one["here"])

    here.post(reverse("end_login", args=[handle]))

    assert lost.get(reverse("due")).status_code == 302
    assert here.get(reverse("due")).status_code == 200


def test_login_of_somebody_else_is_not_ended(keeper, crew, client_as):
    theirs = client_as(crew)
    handle = theirs.get(reverse("logins")).context["rows"][0]["handle"]

    client_as(keeper).post(reverse("end_login", args=[handle]))

    assert theirs.get(reverse("due")).status_code == 200


def test_sign_out_everywhere_ends_all_of_ones_own(keeper, crew, client_as):
    here, elsewhere, theirs = client_as(keeper), client_as(keeper), client_as(crew)

    answer = here.post(reverse("end_logins"))

    assert answer["Clear-Site-Data"] == '"cache"'
    assert here.get(reverse("due")).status_code == 302
    assert elsewhere.get(reverse("due")).status_code == 302
    assert theirs.get(reverse("due")).status_code == 200


def test_logout_has_the_browser_forget_its_cache(keeper, client_as):
    client = client_as(keeper)

    assert client.post(reverse("logout"))["Clear-Site-Data"] == '"cache"'
    assert not LoginSession.objects.filter(user=keeper.user).exists()


def test_member_when_removed_then_logins_and_links_end(keeper, crew, client_as):
    theirs = client_as(crew)
    one_time_links.offer_new_password(crew, by=keeper, now=timezone.now())

    services.part_with(crew, by=keeper, today=builders.TODAY)

    assert not LoginSession.objects.filter(user=crew.user).exists()
    assert not OneTimeLink.objects.exists()
    assert theirs.get(reverse("due")).status_code == 302


def test_ended_logins_and_old_links_are_let_go(keeper, client_as):
    client_as(keeper)
    invited(keeper)
    later = timezone.now() + timedelta(days=61)

    assert forget_ended(later) == 1
    assert one_time_links.forget_expired(later) == 1
