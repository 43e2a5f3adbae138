"""Canonical form 1: one object, one sequence of bytes, so that a digest can speak for the object.

JSON in UTF-8; keys sorted by code point; no white space; no NaN or infinity; numbers as Python's shortest
round-trip repr; characters beyond ASCII unescaped. What has no such form is refused, never converted.
"""

from __future__ import annotations

import json
from hashlib import sha256
from typing import Any

from isohume.foundation.quantity.errors import InputError

DEEPEST = 64
_ENCODER = json.JSONEncoder(
    ensure_ascii=False, check_circular=False, allow_nan=False, sort_keys=True, separators=(",", ":")
)


def canonical(content: Any) -> bytes:
    """The canonical bytes of a plain object (canonical form 1).

        UTF-8 JSON, keys sorted by code point, no white space
    content: dict with text keys, list, text, whole number, finite float, bool or None [text].
    Returns: the bytes that are stored and digested [text].
    Raises: InputError for NaN, infinity, a key that is not text, or any other type (a Decimal is given as text).
    Beyond: nesting deeper than 64 is refused.
    Example: canonical({"b": 1, "a": "0.650"}) = b'{"a":"0.650","b":1}' (canonical form 1).
    Source: RFC8259, 4 to 8.
    """
    _refuse_what_has_no_form(content, "content", 0)
    try:
        return _ENCODER.encode(content).encode()
    except UnicodeEncodeError as error:
        half = ascii(error.object[error.start : error.end])
        raise InputError("content", half, "text without lone surrogates") from None


def digest(stored: bytes) -> str:
    """The SHA-256 of stored bytes.

        SHA-256, 64 lower-case hexadecimal digits
    stored: the bytes as stored [text].
    Returns: the digest [text].
    Raises: TypeError for anything but bytes.
    Beyond: nothing; any length has a digest.
    Example: digest(b"abc") = ba7816bf 8f01cfea 414140de 5dae2223 b00361a3 96177a9c b410ff61 f20015ad (FIPS180-4).
    Source: FIPS180-4, 6.2.
    """
    return sha256(stored).hexdigest()


def _refuse_what_has_no_form(value: Any, where: str, depth: int) -> None:
    kind = type(value)
    if value is None or kind is bool or kind is int or kind is str:
        return
    if depth > DEEPEST:
        raise InputError(where, "deeper nesting", f"at most {DEEPEST} levels")
    if kind is dict:
        for key, inner in value.items():
            if type(key) is not str:
                raise InputError(where, key, f"text as key, not {type(key).__name__}")
            _refuse_what_has_no_form(inner, f"{where}.{key}", depth + 1)
    elif kind is list or kind is tuple:
        for at, inner in enumerate(value):
            _refuse_what_has_no_form(inner, f"{where}[{at}]", depth + 1)
    elif kind is float:
        # NaN differs from itself; an infinity minus itself is NaN
        if value - value != 0.0:
            raise InputError(where, value, "a finite number, or null where there is none")
    else:
        hint = "; give a Decimal as text" if kind.__name__ == "Decimal" else ""
        raise InputError(where, value, f"dict, list, text, int, float, bool or null, not {kind.__name__}{hint}")
