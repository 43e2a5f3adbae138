"""The digest over a spool's entries: by it a copy of a spool that went its own way is told from the spool itself.

Numbers alone do not tell: a copied disk counts on from the same number with other readings.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any


def chain_begun(spool: str, n: int) -> str:
    """The digest before the first entry that has one: n is the number of the entry before it."""
    return hashlib.sha256(f"{spool}:{n}".encode()).hexdigest()


def chain_after(before: str, entry: Mapping[str, Any]) -> str:
    """The digest after an entry, as it goes to the site: sha256 over the digest before it and the entry's JSON."""
    text = json.dumps(entry, sort_keys=True, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(f"{before}{text}".encode("ascii")).hexdigest()
