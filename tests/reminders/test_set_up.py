"""Mail set up on a page: who may, what is kept and how, what wins, what is shown."""

import stat

import pytest
from django.urls import reverse

from maintenance.reminders import mail_server as kept
from maintenance.reminders.models import DigestState
from maintenance.reminders.services import send_digest
from tests.builders import TODAY, make_household, make_member
from tests.reminders.builders import digest_for, make_home, noon, overdue_item

pytestmark = pytest.mark.django_db
GIVEN = {
    "host": "127.0.0.1",
    "tls": "off",
    "port": "25",
    "user": "",
    "password": "",
    "sender": "Our rigs <rigs@example.org>",
}
LOGIN = GIVEN | {"user": "rigs", "password": ' p$w "%s" #x '}


def founder(**fields):
    return make_member(founder=True, **fields)


def save(client, given=GIVEN, **fields):
    return client.post(reverse("set_up_mail"), given | fields, follow=True)


def test_set_up_then_the_next_mail_goes_there_without_a_restart(
    client_as, smtp, settings
):
    settings.MAIL_SERVER_SET = False  # the environment names none
    member, rig = make_home()
    overdue_item(rig)
    digest = digest_for(member)

    save(client_as(founder()), port=smtp.port)
    send_digest(digest, now=noon(TODAY))

    assert digest.state == DigestState.SENT
    assert smtp.messages[0]["From"] == "Our rigs <rigs@example.org>"


def test_set_up_then_the_password_is_kept_to_the_letter_for_this_user_alone(client_as):
    save(client_as(founder()), LOGIN)

    assert kept.mail_server().password == LOGIN["password"]
    assert stat.S_IMODE(kept.kept_at().stat().st_mode) == 0o600
    assert [file.name for file in kept.kept_at().parent.iterdir()] == [
        "mail_server.json"
    ]


def test_set_up_again_with_another_sender_then_the_password_stays(client_as):
    client = client_as(founder())
    save(client, LOGIN)

    page = client.get(reverse("set_up_mail")).text
    save(client, LOGIN, password="", sender="Ours <ours@example.org>")

    assert LOGIN["password"].strip() not in page
    assert kept.mail_server().password == LOGIN["password"]
    assert kept.mail_server().sender == "Ours <ours@example.org>"


@pytest.mark.parametrize(
    "change",
    [
        {"host": "mail.example.org", "tls": "starttls"},
        {"host": "::1"},
        {"port": "26"},
        {"user": "other"},
        {"tls": "starttls"},
    ],
)
def test_set_up_of_another_server_then_the_password_goes_nowhere(client_as, change):
    client = client_as(founder())
    save(client, LOGIN)

    page = save(client, LOGIN, password="", **change)

    assert "password again: the server or the login changed" in page.text
    assert kept.mail_server().host == LOGIN["host"]
    assert kept.mail_server().user == LOGIN["user"]


@pytest.mark.parametrize("host", ["mail.example.org", "10.0.0.5", "localhost.example"])
def test_set_up_without_encryption_across_a_network_then_refused(client_as, host):
    page = save(client_as(founder()), host=host)

    assert "Choose STARTTLS or TLS" in page.text
    assert kept.mail_server() is None


@pytest.mark.parametrize("host", ["localhost", "127.0.0.9", "::1", "[::1]"])
def test_server_on_this_machine_needs_no_encryption(host):
    assert not kept.MailServer(host, 25, "off").in_the_clear


def test_set_up_of_another_login_without_a_password_then_asked(client_as):
    client = client_as(founder())
    save(client, LOGIN)

    page = save(client, LOGIN, user="other", password="")

    assert "password again: the server or the login changed" in page.text
    assert kept.mail_server().user == "rigs"


def test_set_up_shows_what_a_sender_looks_like(client_as):
    page = client_as(founder()).get(reverse("set_up_mail")).text

    assert "Like Our rigs &lt;rigs@example.org&gt;." in page


def test_set_up_without_a_port_then_the_usual_one(client_as):
    save(client_as(founder()), port="", tls="ssl")

    assert kept.mail_server().port == 465


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("host", "smtp://mail.example.org", "name, like smtp.example.org"),
        ("host", "mail example", "name, like smtp.example.org"),
        ("port", "70000", "Enter 65535 or less"),
        ("sender", "rigs", "Enter an email address, like"),
        ("password", "p\u00e4ss", "plain letters, digits, and signs"),
    ],
)
def test_set_up_with_what_cannot_be_then_said_and_nothing_kept(
    client_as, field, value, words
):
    page = save(client_as(founder()), **{field: value})

    assert words in page.text
    assert kept.mail_server() is None


@pytest.mark.parametrize("role", ["viewer", "crew", "keeper"])
@pytest.mark.parametrize("name", ["set_up_mail", "forget_mail_server", "test_mail"])
def test_set_up_by_others_than_the_founder_then_refused(client_as, role, name):
    client = client_as(make_member(role=role))

    assert client.post(reverse(name), GIVEN).status_code == 403
    assert kept.mail_server() is None


def test_set_up_when_several_households_share_the_program_then_by_its_founder(
    client_as,
):
    neighbor = make_member(make_household(name="Next door"))

    assert save(client_as(neighbor)).status_code == 403
    save(client_as(founder()))

    assert kept.mail_server().host == GIVEN["host"]


def test_set_up_by_a_guest_of_the_demo_then_refused(client_as):
    member = make_member(make_household(is_demo=True))

    save(client_as(member))

    assert kept.mail_server() is None


def test_set_up_when_the_environment_names_a_server_then_it_wins(client_as, smtp):
    kept.store(kept.MailServer("stored.example.org", 25, "off"))
    client = client_as(founder())

    page = save(client)

    assert "The setting EMAIL_HOST names the server" in page.text
    assert kept.mail_server().port == smtp.port
    tray = client.get(reverse("mail")).text
    assert "which override this page" in tray
    assert reverse("set_up_mail") not in tray


def test_server_no_longer_used_then_mail_is_kept_on_its_page(client_as):
    client = client_as(founder())
    save(client, LOGIN)

    page = client.post(reverse("forget_mail_server"), follow=True)

    assert kept.mail_server() is None
    assert "nothing leaves this computer" in page.text


def test_file_that_cannot_be_read_then_mail_waits_and_the_page_says_so(client_as):
    member, rig = make_home()
    overdue_item(rig)
    digest = digest_for(member)
    kept.kept_at().write_text('{"host": ')

    send_digest(digest, now=noon(TODAY))

    assert digest.state == DigestState.QUEUED
    assert "mail_server.json, can't be read" in digest.problem
    client = client_as(founder())
    assert "be read (" in client.get(reverse("mail")).text
    assert "be read (" in client.post(reverse("test_mail"), follow=True).text


def test_test_mail_then_each_step_and_what_was_not_reached(client_as, smtp):
    smtp.senders = ["553 5.7.1 Not your address"]

    text = client_as(founder()).post(reverse("test_mail")).text

    squeezed = " ".join(text.split())
    for words in (
        "<strong>The mail server answers and proves its name</strong>: done",
        "<strong>The sender is accepted</strong>: failed",
        "The server answered: 553 5.7.1 Not your address",
        "As the sender, enter the address that belongs to the login.",
        "<strong>The mail is taken</strong>: not reached",
    ):
        assert words in squeezed
    assert "The login is accepted" not in text  # there is none in this set-up
