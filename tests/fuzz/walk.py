"""The walk of every address with nonsense.

The addresses come from the URL table, the fields from the forms as they are rendered.
What the walk does is undone after every block, so that it meets a whole household again
and again; within a block, things are gone that a page still names.
"""

import logging
import traceback
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.cookies import SimpleCookie
from random import Random
from typing import Any
from unittest import mock
from urllib.parse import urldefrag, urlencode, urlsplit

from django.apps import apps
from django.contrib.auth import get_user_model
from django.db import transaction
from django.test import Client
from django.urls import Resolver404, get_resolver, resolve
from django.urls.resolvers import RoutePattern, URLPattern

from maintenance.exchange.exports.scope import our_models, way_home
from maintenance.households.models import Household, Member
from tests.fuzz import nonsense
from tests.fuzz.pages import Field, Form, Page

BLOCK = 50  # requests until all is as it was
EXAMPLES = 3  # addresses of a kind that are kept from the pages
UNSEEN = {"hidden", "submit", "button", "file"}  # kinds of fields nobody types into
# How often each of keeper, crew and viewer comes.
COMES = (6, 3, 1)


@dataclass
class Address:
    """A route of the table, with addresses of it that were seen and their fields."""

    name: str
    route: str
    kinds: dict[str, str]
    seen: list[str] = field(default_factory=list)
    fields: dict[str, Field] = field(default_factory=dict)
    typed_into: bool = False  # some form with fields to see is sent there

    @property
    def is_checked(self) -> bool:
        """Whether its form carries what it was filled with, so that it is held against
        what somebody else changed meanwhile."""
        return bool({"form_seen", "seen"} & self.fields.keys())


@dataclass
class Fault:
    what: str
    words: str


@dataclass
class Walked:
    """What came of it."""

    requests: int = 0
    statuses: Counter[int] = field(default_factory=Counter)
    kept: int = 0  # posts that were answered by leading on
    reached: set[str] = field(default_factory=set)
    addresses: int = 0
    not_reached: set[str] = field(default_factory=set)
    unchecked: set[str] = field(default_factory=set)  # names: see `is_checked`
    faults: dict[str, Fault] = field(default_factory=dict)

    def __str__(self) -> str:
        of = ", ".join(f"{n} × {status}" for status, n in sorted(self.statuses.items()))
        return (
            f"{self.requests} requests at {len(self.reached)} of {self.addresses} "
            f"addresses: {of}; {self.kept} posts were taken; {len(self.faults)} faults"
        )


def walk(
    members: list[Member], strangers: list[Member], *, requests: int, seed: int
) -> Walked:
    """`members` walk: keeper, crew, viewer. Nothing of `strangers` may change."""
    walker = Walker(members, strangers[0].household, Random(seed))
    with _no_network(), _told() as told:
        walker.look_round()
        while walker.walked.requests < requests:
            walker.block(min(BLOCK, requests - walker.walked.requests))
    walker.walked.unchecked = {
        one.name
        for one in walker.addresses.values()
        if one.typed_into and not one.is_checked
    }
    walker.walked.not_reached = set(walker.addresses) - walker.walked.reached
    for words in told:
        walker.walked.faults.setdefault(words.splitlines()[-1], Fault("log", words))
    return walker.walked


@contextmanager
def _no_network() -> Iterator[None]:
    """A mail server may be set up that stands somewhere: nobody is called."""
    refused = OSError("nobody is called from here")
    with mock.patch("socket.create_connection", side_effect=refused):
        yield


@contextmanager
def _told() -> Iterator[list[str]]:
    """The tracebacks that are logged though the page was answered."""
    told: list[str] = []

    class Tracebacks(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            # What is raised here as well, and what is answered with 400 and words.
            known = record.name.startswith(("django.request", "django.security"))
            if record.exc_info and record.levelno >= logging.ERROR and not known:
                told.append("".join(traceback.format_exception(*record.exc_info)))

    handler = Tracebacks()
    logging.getLogger().addHandler(handler)
    try:
        yield told
    finally:
        logging.getLogger().removeHandler(handler)


def table() -> dict[str, Address]:
    """Every address of the URL table."""
    found: dict[str, Address] = {}
    for include in get_resolver().url_patterns:
        patterns: Iterable[URLPattern] = getattr(include, "url_patterns", [include])
        for pattern in patterns:
            assert isinstance(pattern.pattern, RoutePattern)
            kinds = {
                name: type(one).__name__
                for name, one in pattern.pattern.converters.items()
            }
            route = str(pattern.pattern)
            found[route] = Address(str(pattern.name), route, kinds)
    return found


def rows_of(household: Household) -> dict[str, list[Any]]:
    """All that belongs to a household, and its people's logins."""
    found: dict[str, list[Any]] = {}
    for model in our_models():
        if (way := way_home(model)) is not None:
            rows = model._base_manager.filter(**{way: household.pk}).order_by("pk")
            found[model._meta.label] = list(rows.values())
    users = get_user_model().objects.filter(member__household=household)
    found["users"] = list(users.order_by("pk").values())
    return found


class Walker:
    def __init__(
        self, members: list[Member], stranger: Household, chance: Random
    ) -> None:
        self.members, self.stranger, self.chance = members, stranger, chance
        self.clients = [_logged_in(member) for member in members]
        self.addresses = table()
        self.numbers = _numbers()
        self.walked = Walked(addresses=len(self.addresses))

    # --- what there is ----------------------------------------------------------------

    def look_round(self) -> None:
        """Follow the links of the keeper's pages until no new kind of address comes."""
        client, _cookies = self.clients[0]
        starts = [f"/{a.route}" for a in self.addresses.values() if not a.kinds]
        waiting, looked = ["/", *starts], set()
        while waiting:
            url = waiting.pop(0)
            if url in looked:
                continue
            looked.add(url)
            answer = self._asked(f"GET {url}", url, lambda u=url: client.get(u))
            if (
                answer is None
                or answer.status_code != 200
                or "html" not in answer["Content-Type"]
            ):
                continue
            page = Page(answer.text)
            for form in page.forms:
                self._note_form(form, url)
            links = [self._noted(link, url) for link in page.links]
            waiting += [link for link in links if link]

    def _address(self, url: str) -> Address | None:
        try:
            return self.addresses.get(resolve(urlsplit(url).path).route)
        except Resolver404:
            return None

    def _noted(self, link: str, page: str) -> str:
        """The link where it is one more example of an address of ours."""
        link = urldefrag(_whole(link, page))[0]
        address = self._address(link) if link.startswith("/") else None
        if address is None or link in address.seen or len(address.seen) >= EXAMPLES:
            return ""
        address.seen.append(link)
        for name in urlsplit(link).query.split("&"):
            key, _, value = name.partition("=")
            if key:
                address.fields.setdefault(key, Field(key, "query", value))
        return link

    def _note_form(self, form: Form, page: str) -> None:
        url = _whole(form.action, page)
        address = self._address(url)
        if address is None:
            return
        if url not in address.seen and len(address.seen) < EXAMPLES:
            address.seen.append(url)
        address.fields |= form.fields
        if form.method == "post":
            address.typed_into |= any(
                one.kind not in UNSEEN for one in form.fields.values()
            )

    # --- the walk ---------------------------------------------------------------------

    def block(self, requests: int) -> None:
        before = rows_of(self.stranger)
        with transaction.atomic():
            done: list[str] = []
            for _ in range(requests):
                done.append(self._step())
            self.walked.requests += requests
            for what, rows in rows_of(self.stranger).items():
                if rows != before[what]:
                    words = "\n".join(done)
                    self.walked.faults[f"foreign {what}"] = Fault("changed", words)
            transaction.set_rollback(True)

    def _step(self) -> str:
        address = self.chance.choice(list(self.addresses.values()))
        url = self._url(address)
        client, cookies = self.chance.choices(self.clients, COMES)[0]
        client.cookies = SimpleCookie(cookies)
        posted = self.chance.random() < 0.6
        data = self._data(address, files=posted)
        what = f"{'POST' if posted else 'GET'} {url[:200]}"
        query = f"{url.partition('?')[0]}?{urlencode(data, doseq=True)}"
        answer = self._asked(
            f"{what}\n{_short(data)}",
            address.route,
            lambda: client.post(url, data) if posted else client.get(query),
        )
        if answer is None:
            return what
        self.walked.statuses[answer.status_code] += 1
        if answer.status_code not in {403, 404, 405}:
            self.walked.reached.add(address.route)
        self.walked.kept += posted and answer.status_code == 302
        return what

    def _asked(self, what: str, route: str, ask: Callable[[], Any]) -> Any:
        """The answer; None where there was a traceback."""
        try:
            with transaction.atomic():
                answer = ask()
                b"".join(answer) if answer.streaming else answer.content
        except Exception as error:
            words = "".join(traceback.format_exception(error))
            self._fault(route, error, f"{what}\n{words}")
            return None
        if answer.status_code == 500:  # not 503, by which the program says how it is
            self.walked.faults[what] = Fault("status", str(answer.status_code))
        return answer

    def _fault(self, route: str, error: Exception, words: str) -> None:
        """One for each place in the code, however often the walk comes there."""
        ours = [
            frame
            for frame in traceback.extract_tb(error.__traceback__)
            if "/maintenance/" in frame.filename or "/rigsite/" in frame.filename
        ]
        last = f"{ours[-1].filename}:{ours[-1].lineno}" if ours else route
        self.walked.faults.setdefault(f"{last} {error!r:.120}", Fault("error", words))

    def _url(self, address: Address) -> str:
        if address.seen and self.chance.random() < 0.75:
            return self.chance.choice(address.seen)
        url = f"/{address.route}"
        for name, kind in address.kinds.items():
            part = nonsense.for_address(self.chance, kind, self.numbers)
            head, _, rest = url.partition("<")
            inside, _, tail = rest.partition(">")
            assert inside.split(":")[-1] == name
            url = f"{head}{part}{tail}"
        return url

    def _data(self, address: Address, *, files: bool) -> dict[str, Any]:
        """Some fields as they are to be filled, some with nonsense, some left out."""
        wild = self.chance.choice((0.1, 0.3, 1.0))
        data: dict[str, Any] = {}
        for one in address.fields.values():
            if one.name == "csrfmiddlewaretoken" or self.chance.random() < 0.03:
                continue
            if one.kind == "file":
                if files and self.chance.random() < 0.5:
                    data[one.name] = nonsense.upload(self.chance)
            elif self.chance.random() < wild:
                data[one.name] = self._wild()
            else:
                data[one.name] = self._plain(one)
        if self.chance.random() < 0.1:
            data[self.chance.choice(("page", "next", "days", "x\0", "rig"))] = (
                self._wild()
            )
        return data

    def _wild(self) -> str | list[str]:
        if self.chance.random() < 0.2:
            return str(self.chance.choice(self.numbers))
        if self.chance.random() < 0.05:
            return [nonsense.text(self.chance) for _ in range(3)]
        return nonsense.text(self.chance)

    def _plain(self, one: Field) -> str:
        if one.choices and (not one.value or self.chance.random() < 0.5):
            return self.chance.choice(one.choices)
        if one.value:
            return one.value
        if one.kind == "date":
            return nonsense.PLAIN[0]
        return self.chance.choice(("", *nonsense.PLAIN))


def _logged_in(member: Member) -> tuple[Client, str]:
    client = Client()
    client.force_login(member.user, "django.contrib.auth.backends.ModelBackend")
    return client, client.cookies.output(header="", sep=";")


def _numbers() -> list[int]:
    """The ids of all rows, theirs among them."""
    found: set[int] = set()
    for model in apps.get_models():
        if model.__module__.startswith("maintenance."):
            found |= {
                pk
                for pk in model._base_manager.values_list("pk", flat=True)[:200]
                if isinstance(pk, int)
            }
    return sorted(found)


def _whole(link: str, page: str) -> str:
    """The address that a link of the page means; other hosts are none of ours."""
    if link.startswith("?"):
        return urlsplit(page).path + link
    return link or page


def _short(data: dict[str, Any]) -> str:
    return "\n".join(f"  {name} = {str(value)[:80]!r}" for name, value in data.items())
