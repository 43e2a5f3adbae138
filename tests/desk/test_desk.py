"""The desk's public names: all there, sorted, and cheap to import until one is used."""

import subprocess
import sys

import pytest

import isohume.desk


def test_every_public_name_is_there():
    assert isohume.desk.__all__ == sorted(isohume.desk.__all__)
    assert all(getattr(isohume.desk, name).__name__ == name for name in isohume.desk.__all__)
    with pytest.raises(AttributeError):
        isohume.desk.guess  # noqa: B018


def test_restating_with_a_cited_heat_needs_no_compiler():
    ask = (
        "import sys; from isohume.desk import BenchReading, HeatOfSorption, restate; "
        "heat = HeatOfSorption(3.0, 0.5, (15.0, 35.0), 'a table', a_w=(0.6, 0.9)); "
        "assert abs(restate(BenchReading(0.85, 0.002, 25.0), 30.0, heat).value - 0.867) < 5e-4; "
        "assert not {'numba', 'scipy', 'numpy'} & set(sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", ask], capture_output=True).returncode == 0
