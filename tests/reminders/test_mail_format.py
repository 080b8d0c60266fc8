"""Each mail by the letter of the standards: RFC 5322 (message format), RFC 2045
(encodings), RFC 2047 (words that are not ASCII), RFC 8058 (one-click unsubscribe).
Parsed with the standard library's strict policy, which raises at every defect."""

import re
from email import message_from_bytes, policy
from email.headerregistry import Address
from email.message import EmailMessage
from typing import Literal

import pytest

from maintenance.reminders.mail import ascii_address, build, of_digest
from maintenance.reminders.models import Digest
from maintenance.reminders.services import send_digest
from maintenance.reminders.stop_links import member_of_link
from tests.builders import TODAY, make_household, make_member, make_rig
from tests.reminders.builders import digest_for, make_home, noon, overdue_item, take_on

pytestmark = pytest.mark.either_database

NOW = noon(TODAY)


def parsed(raw: bytes) -> EmailMessage:
    message = message_from_bytes(raw, policy=policy.strict)
    for name in message:
        assert not message[name].defects, name
    return message


def part_of(message: EmailMessage, kind: Literal["plain", "html"]) -> str:
    body = message.get_body((kind,))
    assert body is not None
    return str(body.get_content())


def sent_digest(**household) -> Digest:
    member, rig = make_home(**household)
    overdue_item(rig)
    take_on(rig, "lug_recheck")
    digest = digest_for(member)
    send_digest(digest, now=NOW)
    return digest


@pytest.fixture
def digest(db) -> Digest:
    return sent_digest()


@pytest.mark.django_db
def test_mail_when_received_then_it_is_whole(smtp):
    digest = sent_digest()

    [received] = smtp.messages

    message = parsed(received.as_bytes())
    assert received.defects == []
    assert all(part.defects == [] for part in received.walk())
    assert message["Subject"] == digest.subject
    assert message["To"] == f"Robin <{digest.to}>"
    text = part_of(message, "plain")
    assert text.replace("\r\n", "\n") == digest.text
    html = part_of(message, "html")
    assert html.replace("\r\n", "\n").strip() == digest.html.strip()


# RFC 5322, 3.6: origination date and sender once each, never more than one of these.
def test_mail_has_each_header_once(digest):
    message = parsed(of_digest(digest).as_bytes())

    for name in ("Date", "From", "To", "Subject", "Message-ID", "MIME-Version"):
        assert len(message.get_all(name, [])) == 1, name


# RFC 5322, 3.6.4: one msg-id in angle brackets; 3.3: a date with its zone.
def test_mail_has_a_message_id_and_the_households_time(digest):
    message = parsed(of_digest(digest).as_bytes())

    assert re.fullmatch(r"<[0-9a-f]{40}@localhost>", message["Message-ID"])
    assert message["Date"] == "Mon, 04 May 2026 12:00:00 -0600"


# RFC 5322, 2.1.1: 998 characters at most, 78 at best; RFC 2045, 6.7: 76 when encoded.
def test_mail_has_short_seven_bit_lines_that_end_in_crlf(digest):
    raw = of_digest(digest).as_bytes()

    assert raw.isascii()
    assert raw.count(b"\n") == raw.count(b"\r\n")
    head, _, body = raw.partition(b"\r\n\r\n")
    assert max(len(line) for line in head.split(b"\r\n")) <= 78
    assert max(len(line) for line in body.split(b"\r\n")) <= 76


# RFC 2046, 5.1.4: the parts of multipart/alternative grow in faithfulness.
def test_mail_has_text_first_and_html_last(digest):
    message = parsed(of_digest(digest).as_bytes())

    assert message.get_content_type() == "multipart/alternative"
    kinds = [part.get_content_type() for part in message.iter_parts()]
    assert kinds == ["text/plain", "text/html"]


# RFC 2047: words that are not ASCII, in names and subject.
@pytest.mark.django_db
def test_mail_with_names_that_are_not_ascii_then_they_read_back():
    home = make_household(name="Föhrenweg")
    member = make_member(home, name="Zoë Ångström")
    overdue_item(make_rig(home, name="Käfer 猫"), title="Prüfen")
    digest = digest_for(member)
    send_digest(digest, now=NOW)

    raw = of_digest(digest).as_bytes()

    message = parsed(raw)
    assert raw.isascii()
    assert message["Subject"] == "Overdue on Käfer 猫: Prüfen"
    assert message["To"].addresses[0].display_name == "Zoë Ångström"


# RFC 5322, 2.2: a header field ends at its line; nobody may add one by a name.
@pytest.mark.django_db
def test_mail_when_a_name_holds_a_line_break_then_no_header_is_added():
    home = make_household()
    member = make_member(home, name="A\r\nBcc: all@example.org")
    overdue_item(make_rig(home, name="B\nX-Evil: yes"))
    digest = digest_for(member)
    send_digest(digest, now=NOW)

    message = parsed(of_digest(digest).as_bytes())

    assert message["Bcc"] is None
    assert message["X-Evil"] is None


def test_address_of_a_host_that_is_not_ascii_then_in_its_ascii_form():
    # RFC 3490: bücher.example is xn--bcher-kva.example
    assert ascii_address("a@bücher.example") == "a@xn--bcher-kva.example"


# --- RFC 8058 -------------------------------------------------------------------------


def test_mail_without_a_public_address_then_no_header_that_nobody_can_use(digest):
    message = parsed(of_digest(digest).as_bytes())

    assert message["List-Unsubscribe"] is None
    assert message["List-Unsubscribe-Post"] is None


# RFC 8058, 3.1: one HTTPS address, and the second header to the letter.
def test_mail_with_a_public_address_then_one_click_ends_it(digest, settings):
    settings.PUBLIC_URL = "https://a-rather-long-name.of-our-rigs.example.org"

    raw = of_digest(digest).as_bytes()

    [line] = re.findall(rb"^List-Unsubscribe: <(https://[^>]+)>\r$", raw, re.MULTILINE)
    token = line.decode().rstrip("/").rsplit("/", 1)[1]
    assert member_of_link(token) == digest.member
    post = parsed(raw)["List-Unsubscribe-Post"]
    assert post == "List-Unsubscribe=One-Click"


def test_mail_with_a_public_address_without_tls_then_no_such_header(digest, settings):
    settings.PUBLIC_URL = "http://rigs.example.org"

    assert parsed(of_digest(digest).as_bytes())["List-Unsubscribe"] is None


# RFC 3834, 5: what a program sends says so, and no vacation program answers.
def test_mail_says_that_a_program_sent_it():
    mail = build(
        to=Address("A", addr_spec="a@example.org"),
        subject="s",
        text="t\n",
        html="<p>t</p>",
        message_id="<1@example.org>",
        at=NOW,
    )

    assert parsed(mail.as_bytes())["Auto-Submitted"] == "auto-generated"
