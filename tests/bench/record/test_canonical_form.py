"""Canonical form 1: one object, one sequence of bytes."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.bench.record.canonical_form import canonical, digest
from isohume.foundation.quantity.errors import InputError

TEXT = st.text(st.characters(exclude_categories=("Cs",)), max_size=12)
PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | TEXT,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXT, inner, max_size=4),
    max_leaves=20,
)


def reversed_keys(value: Any) -> Any:
    """The same object with every dictionary filled in the opposite order."""
    if isinstance(value, dict):
        return {key: reversed_keys(value[key]) for key in reversed(value)}
    return [reversed_keys(inner) for inner in value] if isinstance(value, list) else value


def written_by_hand(value: Any) -> str:
    """The slow twin: canonical form 1 spelled out, only the escaping of text left to the library."""
    if isinstance(value, dict):
        return "{" + ",".join(f"{written_by_hand(k)}:{written_by_hand(value[k])}" for k in sorted(value)) + "}"
    if isinstance(value, list):
        return "[" + ",".join(map(written_by_hand, value)) + "]"
    if value is None or isinstance(value, bool):
        return {None: "null", True: "true", False: "false"}[value]
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str) else repr(value)


@given(PLAIN)
@settings(derandomize=True)
def test_reading_back_gives_the_same_object_and_the_same_bytes(value: Any) -> None:
    stored = canonical(value)
    assert json.loads(stored) == value
    assert canonical(json.loads(stored)) == stored


@given(PLAIN)
@settings(derandomize=True)
def test_the_order_of_keys_does_not_matter(value: Any) -> None:
    assert canonical(reversed_keys(value)) == canonical(value)


@given(PLAIN)
@settings(derandomize=True)
def test_agrees_with_the_form_written_out(value: Any) -> None:
    assert canonical(value) == written_by_hand(value).encode()


def test_the_form_by_example() -> None:
    value = {"é": 1, "b": [1.0, 0.1, 1e-7, -0.0], "a": "0.650", "Z": None, "nested": {"y": True, "x": "\u2028\n"}}
    expected = '{"Z":null,"a":"0.650","b":[1.0,0.1,1e-07,-0.0],"nested":{"x":"\u2028\\n","y":true},"é":1}'
    assert canonical(value) == expected.encode()


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ({"decision": {"u": float("nan")}}, "content.decision.u: read nan"),
        ({"list": [0.1, float("inf")]}, r"content.list\[1\]: read inf"),
        ([float("-inf")], r"content\[0\]: read -inf"),
        ({"value": Decimal("0.650")}, "content.value: .*Decimal as text"),
        ({1: "a"}, "content: read 1; allowed: text as key, not int"),
        ({"body": b"x"}, "content.body: .*not bytes"),
        ({"s": {1, 2}}, "content.s: .*not set"),
        ({"half": "\ud800"}, "text without lone surrogates"),
    ],
)
def test_what_has_no_form_is_refused_with_its_place(value: Any, said: str) -> None:
    with pytest.raises(InputError, match=said):
        canonical(value)


def test_endless_nesting_is_refused() -> None:
    value: list[Any] = []
    value.append(value)
    with pytest.raises(InputError, match="at most 64 levels"):
        canonical(value)


def test_digest_of_the_standard_s_example() -> None:
    # FIPS 180-4 example "abc", one block (from memory)
    assert digest(b"abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
