"""What a file of NIST certifies: data, starts, parameters with standard deviations, the residual sum of squares."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from tests.product.sorption.nist.forms import FORMS, Array

DATA = Path(__file__).parent / "data"
_NUMBER = r"([-+]?[0-9]*\.?[0-9]+(?:E[-+]?[0-9]+)?)"
_PARAMETER = re.compile(rf"^\s*b[0-9]\s*=\s*{_NUMBER}\s+{_NUMBER}\s+{_NUMBER}\s+{_NUMBER}\s*$")


@dataclass(frozen=True)
class Certified:
    """One problem as its file gives it."""

    name: str
    difficulty: str
    y: Array  # Nelson's is certified in log y
    x: Array  # one row for each predictor
    printed_y: tuple[str, ...]
    printed_x: tuple[str, ...]
    starts: tuple[Array, Array]
    parameters: Array
    deviations: Array
    sum_of_squares: float
    residual_deviation: float
    freedom: int  # as printed: 9 for Rat43, where 15 points less 4 parameters are 11


def _after(text: str, words: str) -> str:
    found = re.search(rf"{words}\s*:\s*(\S+)", text)
    assert found is not None, words
    return found.group(1)


def certified(name: str) -> Certified:
    """The problem of that name, read from its file."""
    text = (DATA / f"{name}.dat").read_text(encoding="ascii")
    lines = text.splitlines()
    rows = [match.groups() for match in map(_PARAMETER.match, lines) if match is not None]
    first, second, parameters, deviations = (np.array(column, dtype=float) for column in zip(*rows, strict=True))
    began = max(number for number, line in enumerate(lines) if line.startswith("Data:"))
    cells = [line.split() for line in lines[began + 1 :] if line.strip()]
    assert len(cells) == int(_after(text, "Number of Observations"))
    values = np.array(cells, dtype=float).T.copy()
    return Certified(
        name=name,
        difficulty=next(line.split()[0] for line in lines if line.rstrip().endswith("Level of Difficulty")),
        y=np.log(values[0]) if name == "Nelson" else values[0],
        x=values[1:],
        printed_y=tuple(row[0] for row in cells),
        printed_x=tuple(row[1] for row in cells),
        starts=(first, second),
        parameters=parameters,
        deviations=deviations,
        sum_of_squares=float(_after(text, "Sum of Squares")),
        residual_deviation=float(_after(text, "Residual Standard Deviation")),
        freedom=int(_after(text, "Degrees of Freedom")),
    )


PROBLEMS: tuple[Certified, ...] = tuple(certified(name) for name in FORMS)
