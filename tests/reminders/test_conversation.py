"""The conversation with a real mail server, with TLS, without, with a login: how far it
comes, what the server says, and whose fault it is."""

import ssl
import subprocess
from contextlib import contextmanager
from email.headerregistry import Address
from pathlib import Path
from socketserver import StreamRequestHandler, ThreadingTCPServer
from threading import Thread

import pytest
from aiosmtpd.smtp import AuthResult, LoginPassword

from maintenance.reminders.mail import build
from maintenance.reminders.mail_server import MailServer
from maintenance.reminders.smtp import Step, deliver
from maintenance.reminders.smtp_words import HINTS
from rigsite.system import program
from tests.builders import TODAY
from tests.mail_server import mail_server
from tests.reminders.builders import noon
from tests.servers import free_port

TO = "robin@example.org"
# As people's passwords are: nothing in it is to be taken for anything else.
PASSWORD = 'p$w "%s" #x \\n {y}'


@pytest.fixture(scope="session")
def certificate(tmp_path_factory) -> tuple[Path, Path]:
    """A certificate for this machine, made by the system's own tool, and its key."""
    folder = tmp_path_factory.mktemp("tls")
    made, key = folder / "cert.pem", folder / "key.pem"
    openssl = program("openssl")
    assert openssl, "openssl is missing; `manage.py test` installs it"
    request = "req -x509 -newkey rsa:2048 -nodes -days 2 -subj /CN=localhost -addext"
    names = "subjectAltName=DNS:localhost,IP:127.0.0.1"
    subprocess.run(
        [openssl, *request.split(" "), names, "-keyout", key, "-out", made],
        check=True,
        capture_output=True,
    )
    return made, key


@pytest.fixture
def context(certificate) -> ssl.SSLContext:
    made, key = certificate
    found = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    found.load_cert_chain(made, key)
    return found


@pytest.fixture
def trusted(certificate, monkeypatch) -> None:
    """As if this machine trusted who issued it."""
    monkeypatch.setenv("SSL_CERT_FILE", str(certificate[0]))


def log_in(_server, _session, _envelope, _mechanism, data) -> AuthResult:
    wanted = LoginPassword(b"rigs@example.org", PASSWORD.encode())
    return AuthResult(success=data == wanted, handled=False)


def sent(port: int, tls: str = "off", **fields):
    """(what came of it, its steps)"""
    message = build(
        to=Address("Robin", addr_spec=TO),
        subject="s",
        text="t\n",
        html="<p>t</p>",
        message_id="<1@example.org>",
        at=noon(TODAY),
    )
    given = {"host": "127.0.0.1", "port": port, "sender": "rigs@example.org"}
    server = MailServer(**given | {"tls": tls} | fields)
    steps: list[Step] = []
    return deliver(message, to=TO, server=server, steps=steps), steps


def went(steps: list[Step]) -> list[str]:
    return [step.stage if step.went_well else f"not {step.stage}" for step in steps]


def test_without_tls_and_login_then_taken():
    with mail_server() as server:
        outcome, steps = sent(server.port)

    assert outcome.kind == "sent"
    assert went(steps) == ["connected", "sender", "recipient", "taken"]
    assert len(server.messages) == 1


@pytest.mark.usefixtures("trusted")
def test_starttls_with_a_login_then_taken_over_tls(context):
    with mail_server(tls_context=context, authenticator=log_in) as server:
        outcome, steps = sent(
            server.port, "starttls", user="rigs@example.org", password=PASSWORD
        )

    assert outcome.kind == "sent", outcome.words
    assert went(steps) == [
        "connected",
        "login",
        "sender",
        "recipient",
        "taken",
    ]
    assert steps[0].words.startswith("TLSv1.")


@pytest.mark.usefixtures("trusted")
def test_tls_from_the_start_then_taken(context):
    with mail_server(ssl_context=context) as server:
        outcome, steps = sent(server.port, "ssl", host="localhost")

    assert outcome.kind == "sent", outcome.words
    assert steps[0].words.startswith("TLSv1.")


@contextmanager
def certificate_of_nobody(context):
    with mail_server(tls_context=context) as server:
        yield {"port": server.port, "tls": "starttls"}


@contextmanager
def tls_first(context):
    with mail_server(ssl_context=context) as server:
        yield {"port": server.port, "tls": "starttls"}


@contextmanager
def tls_never(_context):
    with mail_server() as server:
        yield {"port": server.port, "tls": "ssl"}


@contextmanager
def no_starttls(_context):
    with mail_server() as server:
        yield {"port": server.port, "tls": "starttls", "user": "u", "password": "p"}


@contextmanager
def nothing_there(_context):
    yield {"port": free_port()}


@contextmanager
def no_such_name(_context):
    # RFC 2606: no such name is ever given out.
    yield {"port": 25, "host": "mail.invalid", "tls": "starttls"}


@contextmanager
def another_service(_context):
    """It greets, and answers each line, by its own rules."""

    class Greets(StreamRequestHandler):
        def handle(self):
            self.wfile.write(b"220 Internal archive, version 3\r\n")
            while self.rfile.readline():
                self.wfile.write(b"500 the archive does not know this\r\n")

    with ThreadingTCPServer(("127.0.0.1", 0), Greets) as server:
        Thread(target=server.serve_forever, daemon=True).start()
        try:
            yield {"port": server.server_address[1]}
        finally:
            server.shutdown()


@pytest.mark.parametrize(
    "where",
    [
        certificate_of_nobody,
        tls_first,
        tls_never,
        no_starttls,
        nothing_there,
        no_such_name,
        another_service,
    ],
)
def test_no_mail_server_then_one_answer_whatever_is_there(where, context, settings):
    settings.EMAIL_TIMEOUT = 0.3
    with where(context) as given:
        outcome, steps = sent(**given)

    told = f"{given.get('host', '127.0.0.1')}, port {given['port']}"
    assert outcome.kind == "later"
    assert outcome.words == f"No mail server could be reached safely at {told}."
    assert went(steps) == ["not connected"]
    assert steps[0].hint == HINTS["connected"]


def test_without_tls_across_a_network_then_nobody_is_called(monkeypatch):
    monkeypatch.setattr("smtplib.SMTP.connect", pytest.fail)

    outcome, steps = sent(25, host="mail.example.org")

    assert (outcome.kind, went(steps)) == ("later", ["not connected"])
    assert "could be read on its way" in outcome.words


@pytest.mark.usefixtures("trusted")
def test_login_that_is_wrong_then_the_servers_own_words(context):
    with mail_server(tls_context=context, authenticator=log_in) as server:
        outcome, steps = sent(
            server.port, "starttls", user="rigs@example.org", password="wrong"
        )

    assert (outcome.kind, went(steps)[-1]) == ("later", "not login")
    assert "The server answered: 535 5.7.8" in outcome.words
    assert "separate password" in steps[-1].hint


@pytest.mark.usefixtures("trusted")
def test_login_with_a_letter_that_smtp_does_not_know_then_said(context):
    with mail_server(tls_context=context, authenticator=log_in) as server:
        outcome, steps = sent(server.port, "starttls", user="u", password="p\u00e4ss")

    assert (outcome.kind, went(steps)[-1]) == ("later", "not login")
    assert "has a letter that mail servers don't take" in outcome.words


# Whose fault it is: RFC 5321, 4.2 and 4.5.3.1.10; RFC 3463, 3.3 and 3.8; RFC 4954, 6.
@pytest.mark.parametrize(
    ("answer", "kind"),
    [
        ("550 5.1.1 No such mailbox here", "refused"),
        ("550 No such user", "refused"),
        ("553 5.1.3 Bad address", "refused"),
        ("554 5.2.1 Mailbox disabled", "refused"),
        ("450 4.2.1 Greylisted, try later", "later"),
        ("451 Local error", "later"),
        ("552 Too many recipients", "later"),
        ("550 5.2.2 Mailbox full", "later"),
        ("554 5.7.1 Relay access denied", "later"),
        ("530 5.7.0 Authentication required", "later"),
    ],
)
def test_recipient_declined_then_for_good_only_where_the_address_is_wrong(answer, kind):
    with mail_server() as server:
        server.addresses = [answer]
        outcome, steps = sent(server.port)

    assert (outcome.kind, went(steps)[-1]) == (kind, "not recipient")
    assert outcome.at == ("recipient" if kind == "refused" else "")
    assert outcome.words == f"The server answered: {answer}"


def test_sender_declined_then_the_set_up_is_wrong_not_the_address():
    with mail_server() as server:
        server.senders = ["553 5.7.1 Not your address"]
        outcome, steps = sent(server.port)

    assert (outcome.kind, outcome.at) == ("later", "")
    assert "belongs to the login" in steps[-1].hint


def test_mail_itself_declined_then_not_the_addresss_fault():
    with mail_server() as server:
        server.answers = ["554 5.6.0 We mind your words"]
        outcome, _steps = sent(server.port)

    assert (outcome.kind, outcome.at) == ("refused", "taken")
