"""Our style sheets: contrast, nothing from outside, no name that leads nowhere."""

import re
from pathlib import Path

import pytest

import maintenance.ui

FOLDER = Path(maintenance.ui.__file__).parent / "static" / "ui"
SHEETS = sorted(FOLDER.glob("*.css"))
TOKENS = (FOLDER / "tokens.css").read_text()
HEX = r"--([a-z-]+): (#[0-9a-f]{6});"


def tokens(scheme: str) -> dict[str, str]:
    light, dark = TOKENS.split("@media screen and (prefers-color-scheme: dark)")
    return dict(re.findall(HEX, light if scheme == "light" else dark))


def luminance(color: str) -> float:
    # WCAG 2.2, "relative luminance".
    parts = [int(color[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [
        p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts
    ]
    return sum(w * p for w, p in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one: str, other: str) -> float:
    # WCAG 2.2, "contrast ratio".
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_of_black_and_white_is_21():
    # WCAG 2.2: "Contrast ratios can range from 1 to 21".
    assert contrast("#000000", "#ffffff") == pytest.approx(21)


def test_dark_and_light_define_the_same_colors():
    assert tokens("dark").keys() == tokens("light").keys()


INKS = ("ink", "soft", "accent", "accent-deep", "brick", "ochre", "moss", "plum")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("ground", ["paper", "sheet", "shade"])
@pytest.mark.parametrize("ink", INKS)
def test_words_can_be_read_on_every_ground(scheme, ground, ink):
    # WCAG 2.2, 1.4.3 Contrast (Minimum), level AA.
    color = tokens(scheme)
    assert contrast(color[ink], color[ground]) >= 4.5


PAIRS = [
    ("ink", "brick-ground"),
    ("accent", "brick-ground"),
    ("brick", "brick-ground"),
    ("ink", "ochre-ground"),
    ("accent", "ochre-ground"),
    ("on-accent", "accent"),
    ("on-accent", "accent-deep"),
    ("sheet", "brick"),
]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("ink", "ground"), PAIRS)
def test_words_can_be_read_on_colored_grounds(scheme, ink, ground):
    # WCAG 2.2, 1.4.3 Contrast (Minimum), level AA.
    color = tokens(scheme)
    assert contrast(color[ink], color[ground]) >= 4.5


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("ground", ["paper", "sheet"])
def test_edges_of_fields_can_be_seen(scheme, ground):
    # WCAG 2.2, 1.4.11 Non-text Contrast, level AA.
    color = tokens(scheme)
    assert contrast(color["edge"], color[ground]) >= 3


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_pictures_of_a_sheet_are_files_of_ours(sheet):
    for found in re.findall(r"url\(([^)]*)\)", sheet.read_text()):
        assert (FOLDER / found.strip("\"'")).is_file()


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_every_variable_is_defined(sheet):
    known = set(re.findall(r"(--[a-z0-9-]+):", "".join(s.read_text() for s in SHEETS)))
    used = set(re.findall(r"var\((--[a-z0-9-]+)", sheet.read_text()))
    assert used <= known


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_colors_come_from_the_tokens(sheet):
    text = re.sub(r"/\*.*?\*/", "", sheet.read_text(), flags=re.DOTALL)
    bare = re.findall(r"^\s+(?!--)[a-z-]+:.*#[0-9a-fA-F]{3,6}", text, re.MULTILINE)
    assert not bare
