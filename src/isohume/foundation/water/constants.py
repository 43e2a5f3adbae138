"""The constants of a formulation, as printed, from the data file beside its code."""

from __future__ import annotations

import json
import os
from typing import Any


def constants(name: str) -> dict[str, Any]:
    """The content of `name`.json in this folder: numbers, source, edition, place and how it was verified."""
    # open() and not importlib.resources, which costs more start-up than the rest of this package
    with open(os.path.join(os.path.dirname(__file__), f"{name}.json"), encoding="utf-8") as file:
        content: dict[str, Any] = json.load(file)
    return content
