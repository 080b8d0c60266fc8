"""The one builder of every mail: headers, text and HTML, fit for any server."""

import hashlib
from datetime import datetime
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import EmailPolicy
from email.utils import parseaddr

from maintenance.households.models import Member

from . import mail_server
from .models import Digest
from .stop_links import stop_url


class MailPolicy(EmailPolicy):
    def fold_binary(self, name: str, value: str) -> bytes:
        # The library would break a long address up into encoded words. RFC 2047 allows
        # them in no such header, and no reader puts them together again.
        if name.lower() == "list-unsubscribe":
            return f"{name}: {value}\r\n".encode("ascii")
        return super().fold_binary(name, value)


# Seven-bit lines of at most 76 characters (RFC 2045, 6.7) that end in CRLF.
POLICY = MailPolicy(
    linesep="\r\n", cte_type="7bit", max_line_length=76, raise_on_defect=True
)


def build(
    *,
    to: Address,
    subject: str,
    text: str,
    html: str,
    message_id: str,
    at: datetime,
    stop: str = "",
) -> EmailMessage:
    """`stop` is the address that ends all mail to this person by one POST to it."""
    mail = EmailMessage(policy=POLICY)
    name, sender = parseaddr(mail_server.sender())
    mail["From"] = Address(name, addr_spec=ascii_address(sender))
    mail["To"] = to
    mail["Subject"] = subject
    mail["Date"] = at
    mail["Message-ID"] = message_id
    mail["Auto-Submitted"] = "auto-generated"  # RFC 3834: nobody's vacation answers
    if stop:
        mail["List-Unsubscribe"] = f"<{stop}>"
        mail["List-Unsubscribe-Post"] = "List-Unsubscribe=One-Click"
    mail.set_content(text, cte="quoted-printable")
    mail.add_alternative(html, subtype="html", cte="quoted-printable")
    # Left alone it is drawn by lot, and a mail that is repeated would be another one.
    mail.set_boundary(f"=_{hashlib.sha256(message_id.encode()).hexdigest()[:40]}")
    return mail


def of_digest(digest: Digest) -> EmailMessage:
    """The same mail, however often it is built."""
    zone = digest.member.household.zone
    return build(
        to=address_of(digest.member, digest.to),
        subject=digest.subject,
        text=digest.text,
        html=digest.html,
        message_id=digest.message_id,
        at=(digest.written_at or digest.made_at).astimezone(zone),
        stop=stop_url(digest.member),
    )


def address_of(member: Member, address: str) -> Address:
    return Address(" ".join(member.name.split()), addr_spec=ascii_address(address))


def sender_address() -> str:
    return ascii_address(parseaddr(mail_server.sender())[1])


def sender_domain() -> str:
    return sender_address().rpartition("@")[2]


def ascii_address(address: str) -> str:
    """The address as every server takes it: the name of a host in its ASCII form."""
    local, _, domain = address.rpartition("@")
    return f"{local}@{domain.encode('idna').decode('ascii')}"
