"""Encryption to a public key (age, X25519): what opens a backup lies on no machine that
makes one. The key is made once by `manage.py backup --new-key FILE` and kept apart."""

import shutil
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import IO

import pyrage

from maintenance.disk import HALF, make_folder, put_file, put_in_place

SEALED = ".age"  # the end of the name of an encrypted file


class SealError(Exception):
    """What is wrong with a key, or why something cannot be opened with it."""


def make_key(path: Path) -> str:
    """Write a new private key into a new file; the public key that belongs to it."""
    identity = pyrage.x25519.Identity.generate()
    public = str(identity.to_public())
    put_file(path, f"# public key: {public}\n{identity}\n".encode(), replace=False)
    return public


def check_key(public: str) -> None:
    """SealError when it is no public key."""
    _recipient(public)


def _recipient(public: str) -> pyrage.x25519.Recipient:
    try:
        return pyrage.x25519.Recipient.from_str(public)
    except pyrage.RecipientError:
        raise SealError(
            "BACKUP_KEY isn't a public key, which begins with age1. Make one: "
            "manage.py backup --new-key FILE"
        ) from None


def deliver(source: Path, target: Path, *, public: str = "") -> None:
    """Copy a finished file to its place on any disk, encrypted where there is a key:
    whole or not at all."""
    make_folder(target.parent)
    with NamedTemporaryFile(
        dir=target.parent, prefix=f".{target.name}-", suffix=HALF, delete=False
    ) as out:
        half = Path(out.name)
        try:
            with source.open("rb") as clear:
                if public:
                    _encrypt(clear, out, _recipient(public))
                else:
                    shutil.copyfileobj(clear, out)
            out.flush()
            put_in_place(half, target)
        finally:
            half.unlink(missing_ok=True)


def _encrypt(clear: IO[bytes], out: IO[bytes], to: pyrage.x25519.Recipient) -> None:
    try:
        pyrage.encrypt_io(clear, out, [to])
    except pyrage.EncryptError as error:
        raise OSError(str(error).removeprefix("OSError: ")) from None


def unseal(source: Path, target: Path, key: Path | None) -> None:
    """Decrypt with the private key in a file."""
    if key is None:
        raise SealError(f"{source.name} is encrypted: add --key FILE with your key.")
    try:
        lines = key.read_text().splitlines()
        (text,) = (line for line in lines if line.startswith("AGE-SECRET-KEY-"))
        identity = pyrage.x25519.Identity.from_str(text.strip())
    except (OSError, ValueError, pyrage.IdentityError):
        raise SealError(f"{key} doesn't hold a private key.") from None
    try:
        with source.open("rb") as sealed, target.open("wb") as out:
            pyrage.decrypt_io(sealed, out, [identity])
    except (pyrage.DecryptError, OSError):
        raise SealError(
            f"{source.name} can't be opened: it's damaged, or the key is wrong."
        ) from None
