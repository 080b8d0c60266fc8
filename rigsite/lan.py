"""`start --lan`: by which way other machines of the network come in. Standard library
only."""

import argparse
import ssl
import sys
from dataclasses import dataclass
from pathlib import Path
from socket import gethostname

from maintenance.disk import put_file
from rigsite.console import Stop, say

CERTIFICATE, OWN_WIFI, ASK = "certificate", "own-wifi", "ask"
GIVEN = "given"
SAID_SO = "this is my own Wi-Fi"

OFFER = """How should other devices on this network connect? Safest first:
  1  Under a real name, by a private network (mesh) or a proxy with a certificate.
     Nothing to install on phones. README, "From another machine", says how.
  2  With a certificate you have: start --lan --cert FILE --key FILE
  3  With a certificate made here for {name} alone. Each phone installs it once.
  4  Without encryption: anyone on the same Wi-Fi can read everything, passwords too."""
REAL_NAME = (
    'Set up the real name (README, "From another machine"), then start with'
    " PUBLIC_URL=https://the.name and without --lan."
)
HAVE_ONE = (
    "Then start it like this: python3 manage.py start --lan --cert FILE --key FILE"
)
NOT_SAID = (
    "Nothing was opened. Without encryption, it opens only on your own Wi-Fi. "
    "Choose 3 for a certificate."
)


@dataclass(frozen=True, slots=True)
class Way:
    """How others come in; `kind` is empty when they do not."""

    kind: str = ""
    certificate: Path = Path()
    key: Path = Path()

    @property
    def open(self) -> bool:
        return bool(self.kind)

    @property
    def encrypted(self) -> bool:
        return self.kind in (CERTIFICATE, GIVEN)


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--lan",
        nargs="?",
        const=ASK,
        default="",
        choices=(CERTIFICATE, OWN_WIFI, ASK),
        help="let other devices on your network connect; asks how, once",
    )
    parser.add_argument("--cert", type=Path, help="a certificate you have (PEM)")
    parser.add_argument("--key", type=Path, help="its key (PEM, without a password)")


def as_arguments(options: argparse.Namespace) -> list[str]:
    """The same options on another command line."""
    given: list[str] = ["--lan"] if options.lan else []
    if options.lan in (CERTIFICATE, OWN_WIFI):
        given.append(options.lan)
    for name in ("cert", "key"):
        if found := getattr(options, name):
            given += [f"--{name}", str(found.absolute())]
    return given


def own_name() -> str:
    """The name that this machine has in its network by multicast DNS (RFC 6762)."""
    return f"{gethostname().split('.')[0].lower()}.local"


def choose(options: argparse.Namespace, data: Path) -> Way:
    """The way that the options name, the one chosen before, or the one asked for. A
    certificate where nobody can be asked: it is safe, and only asks more of phones."""
    if options.cert or options.key:
        return _given(options.cert, options.key)
    if not options.lan:
        return Way()
    kind = options.lan
    kept = data / "lan-way"
    if kind == ASK:
        kind = _kept(kept) or (_ask() if sys.stdin.isatty() else CERTIFICATE)
    put_file(kept, kind.encode())
    if kind == OWN_WIFI:
        return Way(OWN_WIFI)
    folder = data / "lan"
    return Way(CERTIFICATE, folder / "door.crt", folder / "door.key")


def _given(certificate: Path | None, key: Path | None) -> Way:
    if not certificate or not key:
        raise Stop("Enter both: --cert FILE and --key FILE.")
    certificate, key = certificate.absolute(), key.absolute()
    for file in (certificate, key):
        if not file.is_file():
            raise Stop(f"There is no file {file}.")
    # Here alone: `start` would carry what it brings along for its whole life.
    from rigsite.secure_door import context  # noqa: PLC0415

    try:
        context(certificate, key, password=lambda: b"")
    except (ssl.SSLError, OSError, ValueError) as error:
        raise Stop(
            f"{certificate} and {key} don't belong together, or one isn't a "
            f"PEM file without a password ({error})."
        ) from None
    return Way(GIVEN, certificate, key)


def _kept(file: Path) -> str:
    try:
        kind = file.read_text().strip()
    except OSError:
        return ""
    return kind if kind in (CERTIFICATE, OWN_WIFI) else ""


def _ask() -> str:
    say(OFFER.format(name=own_name()))
    chosen = _answer("Your choice [3]: ") or "3"
    if chosen == "1":
        raise Stop(REAL_NAME)
    if chosen == "2":
        raise Stop(HAVE_ONE)
    if chosen == "3":
        return CERTIFICATE
    if chosen != "4":
        raise Stop(f"{chosen!r} isn't 1 to 4. Nothing was opened.")
    if (
        _answer(f"Only if it is true, type: {SAID_SO}\n").casefold()
        != SAID_SO.casefold()
    ):
        raise Stop(NOT_SAID)
    return OWN_WIFI


def _answer(question: str) -> str:
    try:
        return input(question).strip()
    except EOFError:
        return ""
