"""`import isohume` is light, and its front door leads to working functions."""

from __future__ import annotations

import inspect
import subprocess
import sys

import pytest

import isohume


@pytest.mark.parametrize("name", isohume.__all__)
def test_every_public_name_exists(name: str) -> None:
    thing = getattr(isohume, name)
    assert isinstance(thing, str) or inspect.isfunction(thing)


def test_an_unknown_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = isohume.nothing


def test_the_front_door_loads_nothing_until_asked() -> None:
    code = "import sys, isohume; print(*sorted(m for m in sys.modules if m.startswith('isohume')))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["isohume", "isohume.version"]


def test_a_function_keeps_its_name_after_its_module_was_imported() -> None:
    import isohume.bench.record.certification
    import isohume.bench.record.verification

    assert inspect.isfunction(isohume.certify)
    assert inspect.isfunction(isohume.verify)


def test_sorption_for_notebooks_is_the_ring_itself():
    from isohume import sorption
    from isohume.product import sorption as ring

    assert sorption.__all__ == ring.__all__
    assert sorption.fit_panel is ring.fit_panel
    assert "moisture_limit" in dir(sorption)
