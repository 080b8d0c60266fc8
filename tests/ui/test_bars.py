"""Drawn bars: where their pieces stand, and that they carry no style."""

import re
from datetime import date
from decimal import Decimal
from xml.etree import ElementTree

import pytest
from django.template import Context, Template

from maintenance.ui.bars import (
    Axis,
    Label,
    Window,
    life,
    line,
    progress,
    road,
    runway,
    window,
)

MAY, JUNE = date(2026, 5, 1), date(2026, 6, 1)


def test_percent_of_days_and_of_miles():
    assert Axis(date(2026, 1, 1), date(2026, 1, 11)).at(date(2026, 1, 6)) == 50
    assert Axis(Decimal(47760), Decimal(47860)).at(Decimal("47810")) == 50


def test_what_lies_beyond_stands_at_the_end():
    axis = Axis(0, 10)
    assert (axis.at(-5), axis.at(25)) == (0, 100)


def test_an_axis_of_no_length_divides_by_nothing():
    assert Axis(MAY, MAY).at(MAY) == 0


@pytest.mark.parametrize(
    ("today", "looks"),
    [
        (date(2026, 5, 5), ["later"]),
        (date(2026, 5, 11), ["open"]),
        (date(2026, 5, 16), ["open"]),
        (date(2026, 5, 25), ["open", "late"]),
    ],
)
def test_a_window_opens_and_runs_late(today, looks):
    bar = window(Axis(MAY, JUNE), date(2026, 5, 11), date(2026, 5, 21), today)
    assert [piece.css for piece in bar.pieces] == looks
    assert bar.posts[1].css.endswith("post-over") == ("late" in looks)


def test_a_window_of_a_shop_is_told_apart():
    bar = window(Axis(0, 10), 2, 4, 3, by_shop=True)
    assert bar.pieces[0].css == "shop"


def test_a_road_runs_from_the_cause_to_the_close():
    # Wheels off at 47,760; re-check from 50 to 100 miles after; 59 are driven.
    bar = road(47760, 47810, 47860, 47819)
    assert (bar.pieces[0].x, bar.pieces[0].end, bar.today) == (50, 100, 59)


def test_a_road_past_its_close_ends_at_the_rig():
    bar = road(0, 50, 100, 200)
    assert [(one.css, one.x, one.end) for one in bar.pieces] == [
        ("open", 25, 50),
        ("late", 50, 100),
    ]
    assert bar.today == 100


def test_a_life_is_solid_to_today_and_striped_past_its_limit():
    axis = Axis(date(2018, 1, 1), date(2028, 1, 1))
    young = life(axis, date(2020, 1, 1), date(2023, 1, 1), date(2026, 1, 1))
    old = life(axis, date(2018, 1, 1), date(2026, 1, 1), date(2024, 1, 1))
    assert [piece.css for piece in young.pieces] == ["used", "left"]
    assert young.pieces[0].end == young.pieces[1].x == young.today
    assert [(piece.css, piece.fill) for piece in old.pieces] == [("over", "hatch-over")]


def test_a_stay_on_one_line_leaves_out_words_that_would_run_together():
    windows = [Window(10, 12, "Visit"), Window(15, 15, "Leaks"), Window(60, 80, "Up")]
    one = line(Axis(0, 100), (0, 80), windows, 11, ticks=[(50, "Jan")], done=[5])
    assert [word.figure for word in one.words] == ["Visit", "Up"]
    assert [piece.css for piece in one.bar.pieces] == [
        "stored",
        "open",
        "later",
        "later",
    ]
    assert len(one.bar.posts) == 5  # a day alone has one post
    assert (one.done, one.ticks[0].x) == ((5,), 50)


def test_a_runway_beyond_its_axis_has_no_end():
    assert runway(Axis(0, 100), 0, 40, 160, 10).posts == ()


def test_a_runway_is_sure_then_maybe():
    bar = runway(Axis(0, 100), 0, 40, 60, 10)
    assert [(one.css, one.x, one.width) for one in bar.pieces] == [
        ("sure", 0, 40),
        ("maybe", 40, 20),
    ]


def test_progress_of_nothing_is_none():
    assert progress(0, 0).pieces[0].width == 0
    assert progress(4, 8).today == 50


def test_a_label_at_an_end_stays_within_the_bar():
    assert [Label(x, "a").anchor for x in (0, 50, 100)] == ["start", "middle", "end"]


TAGS = """{% load bars %}
{% window_bar a b now a z %}
{% road_bar 0 50 100 59 "motorhome" labels "now 59" %}
{% life_bar a now b a z %}
{% runway_bar a now b now a z %}
{% progress_road 4 8 "truck_camper" %}"""


@pytest.fixture
def drawn() -> str:
    days = {"a": MAY, "b": date(2026, 5, 20), "now": date(2026, 5, 9), "z": JUNE}
    labels = [(0, "0", "wheels off"), (50, "50", "opens"), (100, "100", "closes")]
    return Template(TAGS).render(Context({**days, "labels": labels}))


def test_bars_are_svg_without_style_script_or_box(drawn):
    root = ElementTree.fromstring(f"<div>{drawn}</div>")  # noqa: S314  our own
    assert len(root.findall("svg")) == 5
    for bar in root.findall("svg"):
        assert bar.get("width") == "100%"
        assert bar.get("viewBox") is None
        assert bar.get("aria-hidden") == "true"
    assert not re.search(r"\bstyle=|<style|<script", drawn)


def test_words_of_a_road_are_text(drawn):
    assert all(word in drawn for word in ("wheels off", "opens", "closes", "now 59"))


def test_patterns_that_bars_refer_to_are_on_every_page(drawn):
    from django.template.loader import render_to_string  # noqa: PLC0415

    page = render_to_string("ui/base.html")
    for name in re.findall(r"url\(#([a-z-]+)\)", drawn):
        assert f'<pattern id="{name}"' in page
