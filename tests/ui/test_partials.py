"""The pieces that pages include."""

from django.core.paginator import Paginator
from django.template.loader import render_to_string
from django.test import RequestFactory


def words(html: str) -> str:
    return " ".join(html.split())


def test_standing_shows_only_what_applies():
    html = render_to_string("ui/_standing.html", {"standing": "later"})
    assert "Later" in html
    assert not any(word in html for word in ("Safety", "Unfit", "expected", "Put off"))


def test_standing_shows_all_that_applies():
    context = {
        "standing": "due",
        "expected": True,
        "safety": True,
        "unfit": True,
        "deferred": "until May 9, 2026: no water",
    }
    html = words(render_to_string("ui/_standing.html", context))
    for word in ("Due", "expected", "Safety", "Unfit to travel"):
        assert f">{word}<" in html
    assert "Put off until May 9, 2026: no water" in html


def test_empty_page_says_what_to_do_next():
    context = {
        "title": "No rig yet",
        "text": "Begin with one.",
        "action_url": "/rigs/add/",
        "action_label": "Add a rig",
    }
    html = words(render_to_string("ui/_empty.html", context))
    assert '<a class="button main" href="/rigs/add/">Add a rig</a>' in html


def pager(number: int, query: str = "") -> str:
    request = RequestFactory().get(f"/log/{query}")
    page = Paginator(range(95), 30).page(number)
    return render_to_string("ui/_pager.html", {"page": page}, request)


def test_pager_keeps_the_rest_of_the_query():
    html = pager(2, "?rig=3&page=2")
    assert 'rel="prev" href="?rig=3&amp;page=1"' in html
    assert 'rel="next" href="?rig=3&amp;page=3"' in html
    assert "Page 2 of 4" in html


def test_pager_ends_at_both_ends():
    assert 'rel="prev"' not in pager(1)
    assert 'rel="next"' not in pager(4)


def test_a_list_that_fits_one_page_has_no_pager():
    page = Paginator(range(3), 30).page(1)
    assert not render_to_string("ui/_pager.html", {"page": page}).strip()


def test_facts_pair_label_and_value():
    html = words(render_to_string("ui/_facts.html", {"facts": [("Year", 2019)]}))
    assert "<dt>Year</dt> <dd>2019</dd>" in html
