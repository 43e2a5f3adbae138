"""Marks are told apart by shape, and a held lot never carries a tick."""

from __future__ import annotations

from itertools import combinations

from isohume.outlets.paper.verdict_mark import verdict_mark

SHOWN = [
    ("pass", "release"),
    ("pass", "hold"),
    ("conditional pass", "release"),
    ("conditional fail", "hold"),
    ("fail", "hold"),
    ("no verdict", "hold"),
]
TICK = verdict_mark("pass").split('<path d="')[1].split('"')[0]


def test_every_state_has_its_own_shape() -> None:
    for first, second in combinations(SHOWN, 2):
        assert verdict_mark(*first) != verdict_mark(*second)


def test_only_a_release_has_a_tick() -> None:
    for verdict, disposition in [*SHOWN, ("conditional pass", "hold")]:
        assert (TICK in verdict_mark(verdict, disposition)) == (disposition == "release")
