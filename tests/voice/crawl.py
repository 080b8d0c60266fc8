"""What a keeper reads who follows every link of a household, some of each kind."""

from collections import Counter, deque
from collections.abc import Iterator
from html.parser import HTMLParser
from urllib.parse import urlsplit

from django.test import Client
from django.urls import Resolver404, resolve

OF_EACH = 4  # pages of one address with different numbers in it
LEAVES = {"logout", "theme"}  # addresses that change something or end the visit


class Read(HTMLParser):
    """The words of a page, element by element, and where its links lead."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.words: list[str] = []
        self.links: list[str] = []
        self._silent = 0
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._silent += tag in {"script", "style"}
        found = dict(attrs)
        if tag == "a" and (link := found.get("href")):
            self.links.append(link)
        for name in ("aria-label", "placeholder", "title", "alt"):
            if words := found.get(name):
                self.words.append(words)

    def handle_endtag(self, tag: str) -> None:
        self._silent -= tag in {"script", "style"}

    def handle_data(self, data: str) -> None:
        if not self._silent and data.strip():
            self.words.append(" ".join(data.split()))


def crawl(client: Client, start: str = "/") -> Iterator[tuple[str, str]]:
    """The address of each page, and its words line by line."""
    waiting, seen, of_kind = deque([start]), {start}, Counter[str]()
    while waiting:
        address = waiting.popleft()
        try:
            kind = resolve(urlsplit(address).path).view_name
        except Resolver404:
            continue
        if kind in LEAVES or of_kind[kind] >= OF_EACH:
            continue
        of_kind[kind] += 1
        answer = client.get(address, follow=True)
        if not answer.get("Content-Type", "").startswith("text/html"):
            for close in answer._resource_closers:  # of a file; `close` ends the test's
                close()  # transaction, too
            continue
        read = Read(answer.text)
        yield address, "\n".join(read.words)
        for link in read.links:
            there = urlsplit(link)
            path = there.path + (f"?{there.query}" if there.query else "")
            if not there.netloc and path.startswith("/") and path not in seen:
                seen.add(path)
                waiting.append(path)
