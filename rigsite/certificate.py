"""The certificate by which `start --lan` speaks TLS where there is no real name: one
authority that signs one leaf, `<host>.local`, and can sign nothing more. Its key is
never written down and is gone when this program ends; what it may vouch for is held to
that one name (RFC 5280, 4.2.1.10), and no address. Whoever installs it on a phone gives
nobody power over other sites.

`python -m rigsite.certificate NAME.local` makes it where it is missing or near its end;
`--names FILE` tells whom a certificate is for. Both print one line of JSON."""

import argparse
import datetime as dt
import ipaddress
import json
import os
import sys
from dataclasses import asdict, dataclass
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from maintenance.disk import put_file
from rigsite.paths import data_folder

# Phones refuse a leaf of an installed authority that holds for more than 825 days.
HOLDS_FOR = dt.timedelta(days=820)
RENEWED_BEFORE = dt.timedelta(days=30)
BACKDATED = dt.timedelta(days=1)  # a phone's clock may be behind


@dataclass(frozen=True, slots=True)
class Made:
    """What the terminal and the page for phones tell of it."""

    name: str
    fingerprint: str  # SHA-256 of the authority, as phones show it
    until: dt.date
    is_new: bool


def folder(data: Path) -> Path:
    return data / "lan"


def authority_file(data: Path) -> Path:
    return folder(data) / "authority.crt"


def provide(name: str, data: Path, now: dt.datetime) -> Made:
    """The kept one where it is for this name and holds for a while, else a new one."""
    kept = kept_authority(data)
    leaf = folder(data) / "door.crt"
    complete = leaf.exists() and (folder(data) / "door.key").exists()
    if kept and complete and names_of(kept) == [name] and _holds(kept, now):
        return _told(kept, is_new=False)
    return _told(_make(name, data, now), is_new=True)


def _holds(certificate: x509.Certificate, now: dt.datetime) -> bool:
    return certificate.not_valid_after_utc - now > RENEWED_BEFORE


def kept_authority(data: Path) -> x509.Certificate | None:
    try:
        return x509.load_pem_x509_certificate(authority_file(data).read_bytes())
    except (OSError, ValueError):
        return None


def told_of(data: Path) -> Made | None:
    """Of the authority that is kept."""
    kept = kept_authority(data)
    return _told(kept, is_new=False) if kept else None


def _told(authority: x509.Certificate, *, is_new: bool) -> Made:
    digest = authority.fingerprint(hashes.SHA256()).hex().upper()
    return Made(
        name=names_of(authority)[0],
        fingerprint=" ".join(digest[n : n + 2] for n in range(0, 64, 2)),
        until=authority.not_valid_after_utc.date(),
        is_new=is_new,
    )


def names_of(certificate: x509.Certificate) -> list[str]:
    """The hosts that a leaf is for, or that an authority may vouch for."""
    found = []
    for extension in certificate.extensions:
        value = extension.value
        if isinstance(value, x509.SubjectAlternativeName):
            found += value.get_values_for_type(x509.DNSName)
        if isinstance(value, x509.NameConstraints):
            allowed = value.permitted_subtrees or []
            found += [each.value for each in allowed if isinstance(each, x509.DNSName)]
    return found


def _make(name: str, data: Path, now: dt.datetime) -> x509.Certificate:
    """The key of the authority lives in this function alone."""
    authority_key = ec.generate_private_key(ec.SECP256R1())
    authority = _authority(name, authority_key, now)
    leaf_key = ec.generate_private_key(ec.SECP256R1())
    leaf = _leaf(name, leaf_key, authority, authority_key, now)
    secret = leaf_key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
    pem = serialization.Encoding.PEM
    put_file(folder(data) / "door.key", secret)
    put_file(folder(data) / "door.crt", leaf.public_bytes(pem))
    put_file(authority_file(data), authority.public_bytes(pem))
    return authority


def _authority(
    name: str, key: ec.EllipticCurvePrivateKey, now: dt.datetime
) -> x509.Certificate:
    subject = _called(f"Rigsite on {name} ({now:%Y-%m-%d})")
    only_this_name = x509.NameConstraints(
        permitted_subtrees=[x509.DNSName(name)],
        # What is not mentioned would be free: no address, no mail.
        excluded_subtrees=[
            x509.IPAddress(ipaddress.ip_network("0.0.0.0/0")),
            x509.IPAddress(ipaddress.ip_network("::/0")),
            x509.RFC822Name("."),
        ],
    )
    return (
        _begun(subject, subject, key, now)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(only_this_name, critical=True)
        .add_extension(_usage(signs=True), critical=True)
        .add_extension(_key_name(key), critical=False)
        .sign(key, hashes.SHA256())
    )


def _leaf(
    name: str,
    key: ec.EllipticCurvePrivateKey,
    authority: x509.Certificate,
    authority_key: ec.EllipticCurvePrivateKey,
    now: dt.datetime,
) -> x509.Certificate:
    signer = x509.AuthorityKeyIdentifier.from_issuer_public_key(
        authority_key.public_key()
    )
    names = x509.SubjectAlternativeName([x509.DNSName(name)])
    serves = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH])
    return (
        _begun(_called(name), authority.subject, key, now)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(names, critical=False)
        .add_extension(serves, critical=False)
        .add_extension(_usage(signs=False), critical=True)
        .add_extension(_key_name(key), critical=False)
        .add_extension(signer, critical=False)
        .sign(authority_key, hashes.SHA256())
    )


def _begun(
    subject: x509.Name,
    issuer: x509.Name,
    key: ec.EllipticCurvePrivateKey,
    now: dt.datetime,
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BACKDATED)
        .not_valid_after(now - BACKDATED + HOLDS_FOR)
    )


def _called(name: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name[:64])])


def _key_name(key: ec.EllipticCurvePrivateKey) -> x509.SubjectKeyIdentifier:
    return x509.SubjectKeyIdentifier.from_public_key(key.public_key())


def _usage(*, signs: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs,
        key_cert_sign=signs,
        crl_sign=False,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def main() -> int:
    parser = argparse.ArgumentParser(prog="rigsite.certificate")
    parser.add_argument("name")
    parser.add_argument("--names", action="store_true")
    options = parser.parse_args()
    if options.names:
        found = x509.load_pem_x509_certificate(Path(options.name).read_bytes())
        answer = json.dumps(names_of(found))
    else:
        made = provide(
            options.name,
            data_folder(os.environ.get("RIGSITE_DATA", "")),
            dt.datetime.now(dt.UTC),
        )
        answer = json.dumps(asdict(made) | {"until": made.until.isoformat()})
    sys.stdout.write(f"{answer}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
