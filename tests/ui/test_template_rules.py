"""Rules for every page template: what the content policy would refuse is not written,
nothing comes from another host, and no class is without a style."""

import re
from pathlib import Path

import pytest

import maintenance

APPS = Path(maintenance.__file__).parent
# What is printed or mailed is no page: no browser gets it under our policy, and it has
# to carry its style inside.
NO_PAGES = {"print", "mail"}
PAGES = sorted(
    file
    for file in APPS.glob("*/templates/**/*.html")
    if not NO_PAGES & set(file.relative_to(APPS).parts)
)

RULES = {
    "style attribute": r"<[^>]*\sstyle\s*=",
    "style element": r"<style\b",
    "script inside the page": r"<script\b(?![^>]*\ssrc=)|<script\b[^>]*>\s*[^<\s]",
    "event attribute": r"<[^>]*\son[a-z]+\s*=",
    "event attribute of htmx": r"\s(?:data-)?hx-on[:-]|\shx-vals=['\"]js:|\shx-vars",
    "script as address": r"javascript:",
    "data as address": r"(?:src|href)\s*=\s*[\"']data:",
    "another host": r"(?:src|href|action|hx-get|hx-post)\s*=\s*[\"'](?:https?:)?//",
}
BROKEN = {
    "style attribute": '<p class="a" style="color: red">',
    "style element": "<style>p { color: red }</style>",
    "script inside the page": '<script type="module">go()</script>',
    "event attribute": '<a href="#" onclick="go()">',
    "event attribute of htmx": '<a hx-on:click="go()">',
    "script as address": '<a href="javascript:go()">',
    "data as address": '<img src="data:image/png;base64,AA" alt="">',
    "another host": '<script src="https://cdn.example.org/a.js"></script>',
}


def broken_rules(text: str) -> list[str]:
    bare = re.sub(
        r"{#.*?#}|{% comment %}.*?{% endcomment %}", "", text, flags=re.DOTALL
    )
    return [
        f"{name}: {found[0][:60]}"
        for name, pattern in RULES.items()
        if (found := re.search(pattern, bare, re.IGNORECASE))
    ]


@pytest.mark.parametrize("name", RULES)
def test_each_rule_finds_what_it_is_for(name):
    assert any(found.startswith(name) for found in broken_rules(BROKEN[name]))


def test_a_plain_page_breaks_no_rule():
    text = "<script src=\"{% static 'ui/site.js' %}\" defer></script><p>on = off</p>"
    assert broken_rules(text) == []


def test_pages_are_found():
    assert APPS / "ui/templates/ui/base.html" in PAGES


SHEETS = [*APPS.glob("*/static/**/*.css")]
CLASSES = set(
    re.findall(r"\.([_a-zA-Z][\w-]*)", "".join(s.read_text() for s in SHEETS))
)


def unknown_classes(text: str) -> set[str]:
    bare = re.sub(r"{{.*?}}|{%.*?%}", "\0", text)
    used = " ".join(re.findall(r'\sclass="([^"]*)"', bare)).split()
    return {name for name in used if "\0" not in name} - CLASSES


def test_a_class_without_a_style_is_found():
    assert unknown_classes('<p class="button frobnicated">') == {"frobnicated"}


def test_what_a_variable_joins_is_left_aside():
    assert unknown_classes('<p class="button message-{{ level }}">') == set()


@pytest.mark.parametrize("file", PAGES, ids=lambda file: file.name)
def test_classes_of_a_page_have_a_style(file):
    assert unknown_classes(file.read_text()) == set()


@pytest.mark.parametrize("file", PAGES, ids=lambda file: file.name)
def test_page_keeps_the_rules(file):
    assert broken_rules(file.read_text()) == []
