"""Every public function says what it takes and gives: units, errors, source; read from its docstring."""

from __future__ import annotations

import importlib
import inspect
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from isohume.foundation.quantity.sources import sources

PARTS = (
    "isohume.foundation.quantity",
    "isohume.foundation.water",
    "isohume.foundation.solutions",
    "isohume.foundation.metrology",
    "isohume.bench.reading",
    "isohume.bench.reading.settling",
    "isohume.bench.reading.diagnosis",
    "isohume.bench.assurance",
    "isohume.bench.decision",
    "isohume.bench.record",
    "isohume.product.sorption",
    "isohume.desk",
)
SOURCE_LINE = re.compile(r"^\s*Source: (.+)$", re.MULTILINE)


def public_functions() -> Iterator[tuple[str, Callable[..., Any]]]:
    """The functions that each ring part re-exports."""
    for part in PARTS:
        package = importlib.import_module(part)
        for name in package.__all__:
            thing = getattr(package, name)
            if inspect.isfunction(thing):
                yield f"{part}.{name}", thing


FUNCTIONS = dict(public_functions())


@pytest.mark.parametrize("name", FUNCTIONS)
def test_docstring_names_every_parameter_with_its_unit(name: str) -> None:
    function = FUNCTIONS[name]
    text = inspect.getdoc(function) or ""
    assert text, "no docstring"
    for parameter in inspect.signature(function).parameters:
        line = re.search(rf"^\s*{re.escape(parameter)}: .*?(\n\s{{4,}}.*)*$", text, re.MULTILINE)
        assert line, f"{parameter} is not described"
        assert re.search(r"\[[^\]]+\]", line.group(0)), f"{parameter} has no unit in brackets"


@pytest.mark.parametrize("name", FUNCTIONS)
def test_docstring_says_what_comes_back_and_where_it_is_from(name: str) -> None:
    text = inspect.getdoc(FUNCTIONS[name]) or ""
    assert "Returns:" in text or inspect.signature(FUNCTIONS[name]).return_annotation in ("None", None)
    found = SOURCE_LINE.search(text)
    assert found, "no Source line"
    named = found.group(1)
    assert named.startswith("none") or any(key in named for key in sources()), f"unknown source: {named}"


@pytest.mark.parametrize("part", PARTS)
def test_every_part_says_what_is_public(part: str) -> None:
    package = importlib.import_module(part)
    assert package.__all__ == sorted(package.__all__)
    for name in package.__all__:
        assert not inspect.ismodule(getattr(package, name)), f"{name} is a module: the function is hidden by its file"
