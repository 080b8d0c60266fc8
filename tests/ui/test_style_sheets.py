"""Our style sheets: contrast by day and by night, nothing from outside, no name that
leads nowhere, no color but those of the tokens."""

import re
from pathlib import Path

import pytest

import maintenance.ui

FOLDER = Path(maintenance.ui.__file__).parent / "static" / "ui"
SHEETS = sorted(FOLDER.parents[2].glob("*/static/**/*.css"))
TOKENS = (FOLDER / "tokens.css").read_text()
HEX = r"--([a-z0-9-]+): (#[0-9a-f]{6});"


def tokens(scheme: str) -> dict[str, str]:
    day, by_system, by_switch = re.split(
        r"prefers-color-scheme: dark|@media screen \{", TOKENS
    )
    return dict(
        re.findall(HEX, {"light": day, "dark": by_system}.get(scheme, by_switch))
    )


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


def test_night_is_the_same_by_the_system_and_by_the_switch():
    assert tokens("dark") == tokens("night by the switch")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("ground", ["ground", "sheet", "inset"])
@pytest.mark.parametrize("ink", ["ink", "ink2", "accent", "stop"])
def test_words_can_be_read_on_every_ground(scheme, ground, ink):
    # WCAG 2.2, 1.4.3 Contrast (Minimum), level AA.
    color = tokens(scheme)
    assert contrast(color[ink], color[ground]) >= 4.5


PAIRS = [
    ("ink", "stop-wash"),
    ("accent", "stop-wash"),
    ("stop", "stop-wash"),
    ("ink", "road-wash"),
    ("ink2", "road-wash"),
    ("accent", "road-wash"),
    ("stop", "road-wash"),
    ("ink", "road-soft"),
    ("accent", "accent-wash"),
    ("on-accent", "accent"),
    ("on-road", "road"),
    ("on-stop", "stop"),
    ("sheet", "ink"),
]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("ink", "ground"), PAIRS)
def test_words_can_be_read_on_colored_grounds(scheme, ink, ground):
    # WCAG 2.2, 1.4.3 Contrast (Minimum), level AA.
    color = tokens(scheme)
    assert contrast(color[ink], color[ground]) >= 4.5


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("ground", ["ground", "sheet", "accent-wash"])
def test_the_ring_of_focus_can_be_seen(scheme, ground):
    # WCAG 2.2, 1.4.11 Non-text Contrast, level AA.
    color = tokens(scheme)
    assert contrast(color["focus"], color[ground]) >= 3


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("ground", ["ground", "sheet"])
def test_edges_of_fields_can_be_seen(scheme, ground):
    # WCAG 2.2, 1.4.11 Non-text Contrast, level AA.
    color = tokens(scheme)
    assert contrast(color["edge"], color[ground]) >= 3


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_pictures_of_a_sheet_are_files_of_ours(sheet):
    for found in re.findall(r"url\(([^)]*)\)", sheet.read_text()):
        assert (sheet.parent / found.strip("\"'")).is_file()


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_every_variable_is_defined(sheet):
    known = set(re.findall(r"(--[a-z0-9-]+):", "".join(s.read_text() for s in SHEETS)))
    used = set(re.findall(r"var\((--[a-z0-9-]+)", sheet.read_text()))
    assert used <= known


COLOR = (
    r"#[0-9a-fA-F]{3,8}\b|\b(?:rgba?|hsla?|oklch|oklab|lab|lch|color)\(|"
    r":[^;{]*\b(?:white|black|red|blue|green|yellow|orange|gr[ae]y|brown|silver)\b"
)


def bare_colors(text: str) -> list[str]:
    return re.findall(COLOR, re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL))


@pytest.mark.parametrize(
    "text",
    ["a { color: #fff }", "a { fill: rgb(0 0 0) }", "a { border: 1px solid red }"],
)
def test_a_bare_color_is_found(text):
    assert bare_colors(text)


@pytest.mark.parametrize(
    "sheet",
    [sheet for sheet in SHEETS if sheet.name not in {"tokens.css", "print.css"}],
    ids=lambda sheet: sheet.name,
)
def test_colors_come_from_the_tokens(sheet):
    assert bare_colors(sheet.read_text()) == []
