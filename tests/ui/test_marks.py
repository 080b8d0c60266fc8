"""The sprite that marks are drawn from."""

import re
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import pytest
from django.contrib.staticfiles import finders

from maintenance.ui.templatetags.ui import BADGE_WORDS, STANDING_WORDS

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def sprite() -> ElementTree.Element:
    file = Path(str(finders.find("ui/marks.svg")))
    return ElementTree.fromstring(file.read_text())  # noqa: S314  our own file


def drawing(symbol: ElementTree.Element) -> str:
    inside = "".join(ElementTree.tostring(part, "unicode") for part in symbol)
    return re.sub(r"\s+", " ", inside)


def test_sprite_has_each_standing_and_badge_once_and_nothing_else(sprite):
    names = [symbol.get("id") for symbol in sprite.iter(f"{SVG}symbol")]
    assert sorted(names) == sorted([*STANDING_WORDS, *BADGE_WORDS])


def test_marks_differ_in_shape_and_not_in_color_alone(sprite):
    drawings = [drawing(symbol) for symbol in sprite.iter(f"{SVG}symbol")]
    assert all(symbol.get("fill") == "currentColor" for symbol in sprite)
    assert not any(re.search(r"#[0-9a-fA-F]{3}", drawn) for drawn in drawings)
    assert all(one != other for one, other in combinations(drawings, 2))


def test_marks_share_one_box_so_that_they_stand_in_line(sprite):
    boxes = {symbol.get("viewBox") for symbol in sprite.iter(f"{SVG}symbol")}
    assert boxes == {"0 0 16 16"}
