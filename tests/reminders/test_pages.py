"""The mail tray, how mail is set up, and the test mail."""

import pytest
from django.urls import reverse

from maintenance.reminders.models import Digest, DigestState
from maintenance.reminders.services import send_digest
from tests.builders import TODAY, make_member
from tests.reminders.builders import digest_for, make_home, noon, overdue_item
from tests.servers import free_port

pytestmark = pytest.mark.django_db


@pytest.fixture
def digest() -> Digest:
    member, rig = make_home()
    overdue_item(rig)
    found = digest_for(member)
    send_digest(found, now=noon(TODAY))
    return found


def pages(digest: Digest) -> list[str]:
    return [
        reverse("one_mail", args=[digest.pk]),
        reverse("formatted_mail", args=[digest.pk]),
    ]


def test_tray_when_nobody_is_logged_in_then_to_the_login(client, digest):
    for url in [reverse("mail"), *pages(digest)]:
        assert client.get(url)["Location"] == f"/login/?next={url}"


def test_mail_when_asked_for_by_a_stranger_then_it_does_not_exist(client_as, digest):
    client = client_as(make_member())

    assert [client.get(url).status_code for url in pages(digest)] == [404, 404]
    assert digest.subject not in client.get(reverse("mail")).text


@pytest.mark.parametrize("role", ["viewer", "crew", "keeper"])
def test_mail_when_asked_for_by_its_addressee_then_shown(client_as, role):
    keeper, rig = make_home()
    overdue_item(rig)
    digest = digest_for(make_member(keeper.household, role))
    send_digest(digest, now=noon(TODAY))
    client = client_as(digest.member)

    assert digest.subject in client.get(reverse("mail")).text
    assert [client.get(url).status_code for url in pages(digest)] == [200, 200]


@pytest.mark.parametrize("role", ["viewer", "crew"])
def test_mail_of_another_member_then_it_does_not_exist(client_as, digest, role):
    client = client_as(make_member(digest.member.household, role))

    assert [client.get(url).status_code for url in pages(digest)] == [404, 404]
    tray = client.get(reverse("mail")).text
    assert digest.subject not in tray
    assert digest.member.name not in tray


def test_mail_of_another_member_then_a_keeper_sees_what_came_of_it(client_as, digest):
    Digest.objects.update(state=DigestState.REFUSED, problem="550 No such mailbox")
    client = client_as(make_member(digest.member.household))

    for url in (reverse("mail"), reverse("one_mail", args=[digest.pk])):
        text = client.get(url).text
        assert digest.member.name in text
        assert "May 4" in text
        assert "Refused by the mail server" in text
        assert "550 No such mailbox" in text


def test_mail_of_another_member_then_a_keeper_reads_none_of_it(
    client_as, digest, settings
):
    settings.PUBLIC_URL = "https://rigs.example.org"
    Digest.objects.update(state=DigestState.QUEUED, written_at=None)
    send_digest(digest, now=noon(TODAY))
    client = client_as(make_member(digest.member.household))

    assert "/answer/" in digest.text
    whole, formatted = pages(digest)
    assert client.get(formatted).status_code == 404
    for url in (reverse("mail"), whole):
        text = client.get(url).text
        assert digest.subject not in text
        assert "Juniper" not in text
        assert "/answer/" not in text
        assert formatted not in text


def test_tray_without_mail_then_it_says_what_will_come(client_as):
    text = client_as(make_member()).get(reverse("mail")).text

    assert "No email yet" in text
    assert "no mail server" in text


def test_tray_when_refused_then_the_servers_words_are_shown(client_as, digest):
    Digest.objects.update(state=DigestState.REFUSED, problem="550 No such mailbox")

    text = client_as(digest.member).get(reverse("mail")).text

    assert "Refused by the mail server" in text
    assert "550 No such mailbox" in text


@pytest.mark.parametrize("mails", [3, 30])
def test_tray_when_there_is_more_mail_then_as_many_queries(
    client_as, digest, mails, django_assert_max_num_queries
):
    for n in range(mails):
        row = Digest.objects.get(pk=digest.pk)
        row.pk, row.key = None, f"copy {n}"
        row.save()
    client = client_as(digest.member)

    with django_assert_max_num_queries(7):
        client.get(reverse("mail"))


def test_one_mail_when_not_written_yet_then_it_says_why(client_as):
    member, rig = make_home()
    overdue_item(rig)
    waiting = digest_for(member)

    text = client_as(member).get(reverse("one_mail", args=[waiting.pk])).text

    assert "Not written yet" in text
    assert "write each email when it goes out" in text


def test_one_mail_shows_both_parts(client_as, digest):
    page = client_as(digest.member).get(reverse("one_mail", args=[digest.pk]))

    assert "* Juniper: Overdue" in page.text
    assert f'src="{reverse("formatted_mail", args=[digest.pk])}"' in page.text
    assert digest.message_id.strip("<>") in page.text


def test_formatted_mail_may_carry_style_and_nothing_else(client_as, digest):
    page = client_as(digest.member).get(reverse("formatted_mail", args=[digest.pk]))

    rules = dict(
        part.strip().split(" ", 1)
        for part in page["Content-Security-Policy"].split(";")
    )
    assert rules["default-src"] == "'none'"
    assert rules["style-src"] == "'unsafe-inline'"
    assert rules["frame-ancestors"] == "'self'"
    assert rules["sandbox"] == "allow-popups"
    assert page["X-Frame-Options"] == "SAMEORIGIN"


# --- how mail is set up ---------------------------------------------------------------


def test_set_up_when_a_server_is_named_then_all_but_the_password(
    client_as, settings, smtp
):
    settings.EMAIL_HOST, settings.EMAIL_PORT = "mail.example.org", 587
    settings.EMAIL_USE_TLS = True
    settings.EMAIL_HOST_USER = "rigs@example.org"
    settings.EMAIL_HOST_PASSWORD = "not for anybody's eyes"
    settings.DEFAULT_FROM_EMAIL = "Our rigs <rigs@example.org>"

    text = client_as(make_member()).get(reverse("mail")).text

    for words in (
        "mail.example.org, port 587",
        "STARTTLS",
        "as rigs@example.org",
        "Our rigs &lt;rigs@example.org&gt;",
        "without a public address",
    ):
        assert words in text
    assert "not for anybody" not in text


def test_set_up_without_encryption_then_it_says_what_that_means(client_as, smtp):
    text = client_as(make_member()).get(reverse("mail")).text

    assert "mail can be read on its way" in text


# --- the test mail --------------------------------------------------------------------


def send_test(client) -> str:
    return client.post(reverse("test_mail"), follow=True).text


def test_test_mail_when_the_server_takes_it_then_its_answer_is_shown(client_as, smtp):
    member = make_member(founder=True)

    text = send_test(client_as(member))

    assert f"The mail server took a test email to {member.user.email}." in text
    assert "The server answered: 250 OK" in text
    assert smtp.messages[0]["Subject"] == "Test email from Alder Lane"


def test_test_mail_when_refused_then_the_servers_words_are_shown(client_as, smtp):
    smtp.answers = ["554 5.7.1 We take nothing from you"]

    text = send_test(client_as(make_member(founder=True)))

    assert "The server answered: 554 5.7.1 We take nothing from you" in text


def test_test_mail_when_nothing_answers_then_plain_words(client_as, smtp, settings):
    settings.EMAIL_PORT = free_port()

    text = send_test(client_as(make_member(founder=True)))

    where = f"127.0.0.1, port {settings.EMAIL_PORT}"
    assert f"No mail server could be reached safely at {where}." in text


def test_test_mail_without_a_server_then_it_says_so(client_as):
    assert "no mail server to test" in send_test(client_as(make_member(founder=True)))


def test_test_mail_without_an_address_then_it_says_so(client_as, smtp):
    member = make_member(email="", founder=True)

    assert "have your address. Enter it" in send_test(client_as(member))


def test_test_mail_when_only_looked_for_then_refused(client_as, smtp):
    assert (
        client_as(make_member(founder=True)).get(reverse("test_mail")).status_code
        == 405
    )
    assert smtp.messages == []
