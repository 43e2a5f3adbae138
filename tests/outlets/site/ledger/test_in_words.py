"""The details of a trail in words: nothing of a program's own notation reaches a reader."""

from __future__ import annotations

import pytest

from isohume.outlets.site.ledger.in_words import label, words


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("sample_temperature_c", "sample temperature, degC"),
        ("salt_g", "salt, g"),
        ("warm_up_min", "warm up, min"),
        ("a_w", "a_w"),
        ("u_other", "u_other"),
        ("equilibrium_criterion", "equilibrium criterion"),
    ],
)
def test_a_label_has_its_unit_and_a_symbol_stays(name: str, said: str) -> None:
    assert label(name) == said


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("a_w", ["0.618", "0.681"], "0.618 → 0.681"),
        ("location", ["", "Bench room 2"], "nothing → Bench room 2"),
        ("values", ["5.62", "5.63"], "5.62, 5.63"),
        ("reasons", ["one", "two", "three"], "one, two, three"),
        ("columns", {"a_w": "value"}, "a_w value"),
        ("dishes", [{"dish_g": "21.4", "with_dry_g": "25.8"}], "dish, g 21.4, with dry, g 25.8"),
        ("roles", [["analyst"], ["analyst", "developer"]], "analyst → analyst, developer"),
        ("rows", 12, "12"),
        ("in_use", True, "yes"),
        ("read_at", "2026-09-16T09:00:12.123456+00:00", "2026-09-16 09:00"),
        ("code", "2026-09-16T09", "2026-09-16T09"),
    ],
)
def test_a_value_reads_as_words(name: str, value: object, said: str) -> None:
    assert words(name, value) == said
