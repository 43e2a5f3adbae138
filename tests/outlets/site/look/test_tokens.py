"""The tokens hold the contrasts that WCAG 2.2 AA asks for, in both themes, and the two signals differ for every eye."""

from __future__ import annotations

import re
from itertools import product
from pathlib import Path

import pytest

import isohume.outlets.site.look as look

STATIC = Path(look.__file__).parent / "static" / "look"
TOKENS = (STATIC / "tokens.css").read_text()


def _block(start: str) -> dict[str, str]:
    body = TOKENS[TOKENS.index(start) :]
    body = body[body.index("{") + 1 : body.index("}")]
    return dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", body))


LIGHT = _block(":root {")
DARK = _block(':root[data-theme="dark"]')
THEMES = {"light": LIGHT, "dark": DARK}


def _linear(colour: str) -> tuple[float, float, float]:
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return red, green, blue


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2, definition in its glossary."""
    red, green, blue = _linear(colour)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio, WCAG 2.2."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_is_computed_as_wcag_does() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    # the grey that every checker knows as the last to pass 4.5 on white
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)
    assert contrast("#777777", "#ffffff") < 4.5


@pytest.mark.parametrize("theme", THEMES)
def test_text_is_readable_on_every_ground(theme: str) -> None:
    tokens = THEMES[theme]
    pairs = [*product(("ink", "soft", "good", "bad"), ("paper", "sheet")), ("ink", "well"), ("on-next", "next")]
    pairs += [("bad", "bad-wash"), ("ink", "bad-wash"), ("good", "good-wash"), ("ink", "good-wash")]
    for text, ground in pairs:
        assert contrast(tokens[text], tokens[ground]) >= 4.5, (text, ground)
    assert contrast(tokens["ink"], tokens["paper"]) >= 7


@pytest.mark.parametrize("theme", THEMES)
def test_edges_of_fields_and_the_focus_are_seen(theme: str) -> None:
    tokens = THEMES[theme]
    for edge, ground in product(("edge", "next-edge", "ink", "bad"), ("paper", "sheet")):
        assert contrast(tokens[edge], tokens[ground]) >= 3, (edge, ground)


@pytest.mark.parametrize("theme", THEMES)
def test_the_two_signals_differ_for_colour_blind_eyes(theme: str) -> None:
    """Simulated for full protanopia and deuteranopia with the matrices of Vienot1999 (from memory), in linear light."""
    matrices = {
        "protan": ((0.11238, 0.88762, 0.0), (0.11238, 0.88762, 0.0), (0.00401, -0.00401, 1.0)),
        "deutan": ((0.29275, 0.70725, 0.0), (0.29275, 0.70725, 0.0), (-0.02234, 0.02234, 1.0)),
    }
    for matrix in matrices.values():
        good, bad = (
            [sum(m * c for m, c in zip(row, _linear(THEMES[theme][name]), strict=True)) for row in matrix]
            for name in ("good", "bad")
        )
        assert good[2] - good[0] > 0.05  # still bluish
        assert bad[0] - bad[2] > 0.02  # still yellowish


def test_both_ways_into_the_dark_are_the_same() -> None:
    followed = _block(':root:not([data-theme="light"])')
    assert followed == DARK
    assert set(DARK) == set(LIGHT)


def test_colours_and_pixels_of_text_are_decided_in_the_tokens_only() -> None:
    for sheet in STATIC.glob("*.css"):
        if sheet.name in ("tokens.css", "print.css"):
            continue
        text = re.sub(r"/\*.*?\*/", "", sheet.read_text(), flags=re.DOTALL)
        text = re.sub(r'\[(fill|stroke)="#[0-9a-f]{6}"\]', "", text)
        assert not re.findall(r"#[0-9a-f]{3,8}\b", text), sheet.name
        assert not re.findall(r"font-size: \d+px", text), sheet.name
        used = set(re.findall(r"var\(--([\w-]+)", text))
        assert used <= set(re.findall(r"--([\w-]+):", TOKENS)), sheet.name


def test_nothing_is_fetched_from_elsewhere() -> None:
    for file in [*STATIC.iterdir(), *(STATIC.parents[1] / "templates").rglob("*.html")]:
        text = file.read_text().replace("http://www.w3.org/2000/svg", "")
        assert not re.search(r"https?://|@import|\beval\b|new Function|innerHTML|insertAdjacentHTML", text), file.name
        assert file.suffix != ".css" or "url(" not in text, file.name
        if file.suffix == ".html":
            assert not re.search(r"<script(?![^>]*\bsrc=)|<style|\sstyle=|\son\w+=", text), file.name
