"""The package's front door: every public name exists, and light parts stay light."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

import isohume
from isohume.foundation import metrology

SRC = str(Path(isohume.__path__[0]).parent)


def test_every_public_name_is_there_and_nothing_else():
    assert sorted(metrology.__all__) == metrology.__all__
    assert len(set(metrology.__all__)) == len(metrology.__all__)
    for name in metrology.__all__:
        assert getattr(metrology, name).__module__.startswith("isohume.foundation.metrology.")
    with pytest.raises(AttributeError, match="no_such_name"):
        _ = metrology.no_such_name


def test_judging_a_value_loads_no_numerical_library():
    script = (
        "import json, sys\n"
        "from decimal import Decimal\n"
        "from isohume.foundation import metrology as m\n"
        "m.probability_of_conformity(0.846, 0.004, upper=0.85)\n"
        "m.replicate_route([Decimal('0.640'), Decimal('0.652')], Decimal('0.002'))\n"
        "m.weighted_line([0.33, 0.75], [0.33, 0.75], [0.001, 0.001])\n"
        "m.combine([m.Component('a', 1.0, dof=9)]).expanded_u()\n"
        "m.grubbs([0.65, 0.66, 0.64])\n"
        "m.e_n(0.757, 0.004, 0.753, 0.0024)\n"
        "print(json.dumps(sorted(sys.modules)))\n"
    )
    environment = {**os.environ, "PYTHONPATH": SRC}
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, env=environment)
    loaded = set(json.loads(ran.stdout))
    assert "isohume.foundation.metrology.conformity" in loaded
    assert not loaded & {"numpy", "scipy", "statistics", "pandas"}
