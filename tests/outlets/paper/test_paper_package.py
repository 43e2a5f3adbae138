"""The package's own names, and that a line is drawn without loading the typesetter."""

from __future__ import annotations

import subprocess
import sys

import pytest

import isohume.outlets.paper as paper


def test_every_public_name_is_there() -> None:
    for name in paper.__all__:
        assert callable(getattr(paper, name))
    with pytest.raises(AttributeError):
        paper.nothing_of_the_kind  # noqa: B018


def test_drawing_a_line_does_not_load_the_typesetter() -> None:
    code = (
        "import sys\n"
        "from isohume.outlets.paper import draw_line, readings_csv\n"
        "print(sorted({'typst', 'segno', 'numpy'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
