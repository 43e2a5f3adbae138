"""Characters that the fonts lack, or that deceive the eye, are printed as their code point."""

from __future__ import annotations

from isohume.outlets.paper.glyphs import Printable


class Fonts:
    """A stand-in for the typesetter: knows some characters and counts how often it is asked."""

    def __init__(self, known: str) -> None:
        self.known, self.asked = set(known), 0

    def __call__(self, text: str) -> bool:
        self.asked += 1
        return set(text) <= self.known


def test_known_characters_stay_and_unknown_ones_become_code_points() -> None:
    printable = Printable(Fonts("äжé"))
    assert printable({"a": ["Äpfel ж", 1, None, "plain"], "b": ("é燕",)}) == {
        "a": ["[U+00C4]pfel ж", 1, None, "plain"],
        "b": ["é[U+71D5]"],
    }


def test_invisible_and_direction_turning_characters_are_shown_without_asking() -> None:
    fonts = Fonts("")
    assert Printable(fonts)("SB\u202e70\u200b\n\t\x07") == "SB[U+202E]70[U+200B][U+000A][U+0009][U+0007]"
    assert fonts.asked == 0


def test_each_character_is_asked_about_once() -> None:
    fonts = Fonts("äöü")
    printable = Printable(fonts)
    assert printable("äöü") == "äöü"
    assert printable("üöä") == "üöä"
    assert fonts.asked == 1
    assert printable("ä燕") == "ä[U+71D5]"
    assert fonts.asked == 2


def test_plain_ascii_asks_nothing() -> None:
    fonts = Fonts("")
    assert Printable(fonts)("#eval($x$) [b] `c`") == "#eval($x$) [b] `c`"
    assert fonts.asked == 0
