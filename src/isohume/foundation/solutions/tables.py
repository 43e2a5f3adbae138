"""The data files beside the code, read once when first needed; `builders/solutions.py` writes them."""

from __future__ import annotations

import json
import os.path
from functools import cache
from typing import Any

# os.path rather than pathlib: a verb that needs one number should start without it
_FOLDER = os.path.join(os.path.dirname(__file__), "data")


@cache
def table(name: str) -> dict[str, Any]:
    """The content of one data file, by its name without ending."""
    with open(os.path.join(_FOLDER, f"{name}.json"), encoding="utf-8") as file:
        content: dict[str, Any] = json.load(file)
    return content
