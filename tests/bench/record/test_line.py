"""A ledger line's digest: nothing can move between the parts of a line and keep it."""

from __future__ import annotations

import hashlib

from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.bench.record.canonical_form import canonical
from isohume.bench.record.line import line_digest, line_digests
from isohume.bench.record.tables import GENESIS
from isohume.bench.record.transaction import record_payload

TEXT = st.text(st.characters(exclude_categories=("Cs",)), max_size=6)
LINE = st.tuples(st.integers(1, 10**9), TEXT, TEXT, TEXT, st.binary(max_size=6), TEXT)


def spelled_out(seq: int, at: str, kind: str, ref: str, payload: bytes, previous: str) -> str:
    """The slow twin: the documented layout put together part by part."""
    hashed = hashlib.sha256()
    for part in (str(seq), "\n", previous, "\n"):
        hashed.update(part.encode())
    for text in (at, kind, ref):
        hashed.update(str(len(text)).encode() + b":" + text.encode())
    hashed.update(payload)
    return hashed.hexdigest()


@given(LINE)
@settings(derandomize=True)
def test_both_forms_are_the_documented_layout(line: tuple[int, str, str, str, bytes, str]) -> None:
    assert line_digest(*line) == spelled_out(*line)
    assert line_digests([(*line, "")]) == [spelled_out(*line)]


@given(st.lists(LINE, min_size=2, max_size=2, unique=True), st.integers(0, 3))
@settings(derandomize=True)
def test_different_lines_have_different_digests(
    lines: list[tuple[int, str, str, str, bytes, str]], digits: int
) -> None:
    # a line's previous digest has no line feed, as 64 hexadecimal digits have none
    first, second = ((*line[:5], line[5].replace("\n", "")) for line in lines)
    assert (line_digest(*first) == line_digest(*second)) == (first == second)


def test_text_cannot_move_from_one_part_to_the_next() -> None:
    parts = [
        ("2026", "3:abc", "d", b"e"),
        ("2026", "3:ab", "cd", b"e"),
        ("2026", "3:abc", "", b"de"),
        ("2", "0263:abc", "d", b"e"),
    ]
    assert len({line_digest(1, *part, GENESIS) for part in parts}) == len(parts)


def test_a_line_written_down() -> None:
    stored = b"1\n" + b"0" * 64 + b"\n25:2026-11-24T15:42:10+00:005:check4:OW-1{}"
    expected = hashlib.sha256(stored).hexdigest()
    assert line_digest(1, "2026-11-24T15:42:10+00:00", "check", "OW-1", b"{}", GENESIS) == expected


@given(TEXT, TEXT, TEXT, TEXT)
@settings(derandomize=True)
def test_a_record_line_is_canonical(record_id: str, lot: str, inputs: str, body: str) -> None:
    said = {"record": record_id, "lot": lot, "inputs_digest": inputs, "digest": body}
    assert record_payload(record_id, lot, inputs, body) == canonical(said)
