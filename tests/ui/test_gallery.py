"""Every part of the look, once, as DEVELOPERS.md says it is written."""

from datetime import date
from html.parser import HTMLParser
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.contrib.staticfiles import finders
from django.template import Context, Template

from maintenance.ui.charts import BandChart
from maintenance.ui.drawings import DRAWINGS
from maintenance.vehicles.models import RigKind
from tests.ui.test_template_rules import broken_rules, unknown_classes

VOID = {"meta", "link", "input", "img", "br", "hr"}


@pytest.fixture(scope="module")
def gallery() -> str:
    text = (Path(__file__).parent / "gallery.html").read_text()
    days = {"a": date(2026, 5, 1), "now": date(2026, 5, 9), "z": date(2026, 6, 1)}
    context = {
        **days,
        "b": date(2026, 5, 20),
        "labels": [(47760, "47,760", "wheels off"), (47860, "47,860", "closes")],
        "chart": BandChart(
            title="Odometer",
            unit="mi",
            known=[(days["a"], 47000.0), (days["now"], 47819.0)],
            expected=[(days["z"], 48000.0, 48200.0, 48900.0)],
            today=days["now"],
            known_label="read",
            expected_label="likely",
        ),
        "places": [SimpleNamespace(key="roof", number=1, worst="overdue", is_red=True)],
        "cautions": ["A hot hub burns. Let the wheels cool."],
    }
    return Template(text).render(Context(context))


class Nesting(HTMLParser):
    """What is opened and not closed in its turn."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.uses: list[str] = []

    def handle_starttag(self, tag, attrs):
        if tag == "use":
            self.uses.append(dict(attrs)["href"] or "")
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


@pytest.fixture(scope="module")
def nesting(gallery) -> Nesting:
    found = Nesting()
    found.feed(gallery)
    return found


def test_parts_are_nested_well(nesting):
    assert nesting.open == []


def test_parts_keep_the_rules_of_pages(gallery):
    assert broken_rules(gallery) == []
    unstyled = unknown_classes(gallery)
    assert {name for name in unstyled if not name.startswith("standing-")} == set()


def test_every_drawing_that_is_used_is_in_its_sprite(nesting):
    assert len(nesting.uses) > 10
    for use in nesting.uses:
        file, _hash, name = use.partition("#")
        found = finders.find(f"ui/{file.rpartition('/')[2]}")
        assert f'id="{name}"' in Path(str(found)).read_text()


def test_a_row_says_to_readers_what_its_icons_say(gallery):
    for words in (
        "time: </span>2 h",
        "who: </span>Shop",
        "where: </span>The ridge bay",
    ):
        assert words in gallery


def test_every_kind_of_rig_has_a_side_view_and_a_sign():
    sprite = Path(str(finders.find("ui/rigs.svg"))).read_text()
    assert set(DRAWINGS) == set(RigKind.values)
    for drawing in DRAWINGS.values():
        assert f'id="{drawing}"' in sprite
        assert f'id="sign-{drawing}"' in sprite
