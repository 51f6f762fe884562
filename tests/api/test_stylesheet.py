"""The stylesheet holds what it promises: contrast in both variants, no foreign address."""

import re
from pathlib import Path

import pytest

import api

STYLES = (Path(api.__file__).parent / "static" / "fillmark.css").read_text()
BLOCKS = re.findall(r":root \{([^}]*)\}", STYLES)
VARIANTS = {
    name: dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", block))
    for name, block in zip(("light", "dark"), BLOCKS, strict=False)
}
TEXT = [
    ("ink", "ground"),
    ("ink", "paper"),
    ("ink", "wash"),
    ("ink", "water"),
    ("soft", "ground"),
    ("soft", "paper"),
    ("kelp", "ground"),
    ("kelp", "paper"),
    ("on-kelp", "kelp"),
]
LINES = [("rule", "ground"), ("rule", "paper"), ("kelp", "paper"), ("ink", "water")]


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def test_contrast_is_computed_as_the_guideline_does():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("variant", ["light", "dark"])
@pytest.mark.parametrize(("text", "ground"), TEXT)
def test_text_can_be_read(variant, text, ground):
    colours = VARIANTS[variant]

    assert contrast(colours[text], colours[ground]) >= 4.5


@pytest.mark.parametrize("variant", ["light", "dark"])
@pytest.mark.parametrize(("line", "ground"), LINES)
def test_lines_that_mean_something_can_be_seen(variant, line, ground):
    colours = VARIANTS[variant]

    assert contrast(colours[line], colours[ground]) >= 3


def test_colours_are_named_once():
    outside = re.sub(r":root \{[^}]*\}", "", STYLES)

    assert not re.findall(r"(?<!&)#[0-9a-f]{3,8}\b(?=[;\s,)])", outside)


def test_nothing_is_fetched_from_elsewhere():
    assert not re.findall(r"@import|url\(\s*['\"]?(?:https?:)?//", STYLES)
