"""The certificate of the local network: for one name, and an authority that can do no
more. Held against the TLS library itself."""

import datetime as dt
import ssl

import pytest
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec

from rigsite import certificate
from rigsite.certificate import authority_file, folder, provide

NOW = dt.datetime.now(dt.UTC)
NAME = "den.local"
PEM = serialization.Encoding.PEM


def shakes_hands(authority: bytes, leaf: str, key: str, name: str) -> str:
    """Nothing when a visitor who trusts the authority takes the leaf, else why not."""
    there = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    there.load_cert_chain(leaf, key)
    here = ssl.create_default_context(cadata=authority.decode())
    to_there, to_here = ssl.MemoryBIO(), ssl.MemoryBIO()
    visitor = here.wrap_bio(to_here, to_there, server_hostname=name)
    server = there.wrap_bio(to_there, to_here, server_side=True)
    for side in (visitor, server, visitor, server):
        try:
            side.do_handshake()
        except ssl.SSLWantReadError:
            continue
        except ssl.SSLCertVerificationError as error:
            return error.verify_message
    return ""


def made(data, name: str = NAME) -> tuple[bytes, str, str]:
    provide(name, data, NOW)
    where = folder(data)
    return (
        authority_file(data).read_bytes(),
        str(where / "door.crt"),
        str(where / "door.key"),
    )


def test_leaf_when_asked_by_its_name_then_accepted_and_by_no_other(tmp_path):
    files = made(tmp_path)

    assert shakes_hands(*files, NAME) == ""
    assert "Hostname mismatch" in shakes_hands(*files, "bank.example.org")


@pytest.mark.parametrize("name", ["bank.example.org", "other.local"])
def test_authority_when_made_to_sign_another_name_then_nobody_accepts_it(
    name, tmp_path
):
    """What somebody could do who had kept its key."""
    key, leaf_key = (ec.generate_private_key(ec.SECP256R1()) for _ in range(2))
    authority = certificate._authority(NAME, key, NOW)
    leaf = certificate._leaf(name, leaf_key, authority, key, NOW)
    (tmp_path / "leaf").write_bytes(leaf.public_bytes(PEM))
    secret = leaf_key.private_bytes(
        PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    (tmp_path / "key").write_bytes(secret)

    said = shakes_hands(
        authority.public_bytes(PEM),
        str(tmp_path / "leaf"),
        str(tmp_path / "key"),
        name,
    )

    assert said == "permitted subtree violation"


def test_authority_when_made_then_it_may_vouch_for_no_address_and_no_mail(tmp_path):
    provide(NAME, tmp_path, NOW)
    kept = certificate.kept_authority(tmp_path)

    assert kept
    held = kept.extensions.get_extension_for_class(certificate.x509.NameConstraints)
    assert held.critical
    assert {str(each.value) for each in held.value.excluded_subtrees or []} == {
        "0.0.0.0/0",
        "::/0",
        ".",
    }


def test_authority_when_it_has_signed_then_its_key_is_nowhere(tmp_path):
    made(tmp_path)

    kept = sorted(file.name for file in folder(tmp_path).iterdir())
    keys = [
        file.name
        for file in folder(tmp_path).iterdir()
        if b"PRIVATE KEY" in file.read_bytes()
    ]
    assert kept == ["authority.crt", "door.crt", "door.key"]
    assert keys == ["door.key"]  # the leaf's: it is no authority
    assert (folder(tmp_path) / "door.key").stat().st_mode & 0o077 == 0


def test_certificate_when_kept_then_phones_need_not_install_another(tmp_path):
    first = provide(NAME, tmp_path, NOW)
    again = provide(NAME, tmp_path, NOW + dt.timedelta(days=700))

    assert (first.is_new, again.is_new) == (True, False)
    assert first.fingerprint == again.fingerprint
    assert len(first.fingerprint.split()) == 32


@pytest.mark.parametrize(
    ("name", "days"), [("shed.local", 0), (NAME, 800), (NAME, 3000)]
)
def test_certificate_when_renamed_or_near_its_end_then_made_anew(name, days, tmp_path):
    first = provide(NAME, tmp_path, NOW)
    again = provide(name, tmp_path, NOW + dt.timedelta(days=days))

    assert again.is_new
    assert again.fingerprint != first.fingerprint


def test_leaf_when_made_then_within_what_phones_accept(tmp_path):
    """Phones refuse a leaf of an installed authority that holds over 825 days, is not
    for servers or names its host in the subject alone."""
    provide(NAME, tmp_path, NOW)
    leaf = certificate.x509.load_pem_x509_certificate(
        (folder(tmp_path) / "door.crt").read_bytes()
    )

    lasts = leaf.not_valid_after_utc - leaf.not_valid_before_utc
    assert lasts <= dt.timedelta(days=825)
    assert certificate.names_of(leaf) == [NAME]
