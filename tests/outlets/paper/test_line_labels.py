"""Labels: inside the picture, never over each other, all there."""

from __future__ import annotations

import itertools

from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.outlets.paper.line_labels import Label, place, shortened, text_width

LABELS = st.lists(st.builds(Label, st.floats(0, 430), st.text(min_size=1, max_size=60), st.booleans()), max_size=14)


@settings(derandomize=True, deadline=None)
@given(labels=LABELS)
def test_labels_stay_inside_and_apart(labels: list[Label]) -> None:
    placed = place(labels, 430.0, 9.5)
    assert sorted((p.label.anchor, p.label.text) for p in placed) == sorted((x.anchor, x.text) for x in labels)
    for p in placed:
        assert p.left >= -1e-9
        assert p.right <= 430 + 1e-9
        assert p.row >= 0
    for a, b in itertools.combinations(placed, 2):
        assert a.row != b.row or a.right <= b.left or b.right <= a.left


def test_two_far_labels_share_the_first_row_and_no_leader_meets_words() -> None:
    placed = place([Label(50, "left"), Label(300, "right")], 430.0, 9.5)
    assert [p.row for p in placed] == [0, 0]


def test_close_labels_are_staggered_so_that_no_leader_runs_through_words() -> None:
    labels = [Label(200, "acceptance limit"), Label(210, "a limit of some length"), Label(190, "a result")]
    placed = place(labels, 430.0, 9.5)
    for upper, lower in itertools.permutations(placed, 2):
        if upper.row > lower.row:
            assert not lower.left < upper.label.anchor < lower.right


def test_words_wider_than_the_picture_are_cut_with_an_ellipsis() -> None:
    cut = shortened("wide " * 60, 100.0, 9.5)
    assert cut.endswith("…")
    assert text_width(cut, 9.5) <= 100.0
    assert shortened("short", 100.0, 9.5) == "short"
