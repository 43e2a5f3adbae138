"""Every public function says what it takes and gives: units, errors, source; read from its docstring."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest

import isohume.bench
import isohume.foundation
from isohume.foundation.quantity.sources import sources

SOURCE_LINE = re.compile(r"^\s*Source: (.+)$", re.MULTILINE)


def public_functions() -> Iterator[tuple[str, Callable[..., Any]]]:
    """Functions that the ring parts re-export, and public functions defined in bench and foundation modules."""
    for ring in (isohume.foundation, isohume.bench):
        for module in pkgutil.walk_packages(ring.__path__, ring.__name__ + "."):
            loaded = importlib.import_module(module.name)
            for name, thing in vars(loaded).items():
                if inspect.isfunction(thing) and thing.__module__ == module.name and not name.startswith("_"):
                    yield f"{module.name}.{name}", thing


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
