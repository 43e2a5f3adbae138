"""A reference value starts without the array libraries, and a saturated one without the electrolyte models."""

import subprocess
import sys

import isohume.foundation.solutions as solutions


def loaded_after(statement):
    code = f"import sys\nfrom isohume.foundation.solutions import reference_value\n{statement}\nprint(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(done.stdout.split())


def test_a_saturated_value_loads_neither_arrays_nor_electrolytes():
    loaded = loaded_after("reference_value('NaCl', 22.0)")
    assert "isohume.foundation.solutions.saturated" in loaded
    assert not loaded & {"numpy", "scipy", "difflib", "isohume.foundation.solutions.unsaturated"}


def test_a_value_by_molality_loads_no_arrays():
    loaded = loaded_after("reference_value('NaCl', 22.0, 4.0)")
    assert "isohume.foundation.solutions.electrolytes" in loaded
    assert not loaded & {"numpy", "scipy"}


def test_every_public_name_is_there():
    for name in solutions.__all__:
        assert getattr(solutions, name).__name__ == name
