"""Writes the ring of isotherm models that the kernels choose from: one branch for each file in `models/`.

    PYTHONPATH=src python builders/model_dispatch.py

A compiled kernel can call only what it knew when it was compiled, so the list of models must stand in source.
"""

from __future__ import annotations

from pathlib import Path

MODELS = Path(__file__).resolve().parents[1] / "src/isohume/product/sorption/models"
TARGET = MODELS / "dispatch.py"
CALLS = {
    "features": ("a, t, g", "The parts of model k's equation that no parameter changes."),
    "basis": ("g, theta, rows", "Model k's functions and their derivatives."),
    "natural": ("c, theta, p, dp", "Model k's printed parameters, and their derivatives by (c, theta)."),
    "curve": ("a, t, p, out", "Moisture, slope and derivatives by the printed parameters of model k."),
    "part": ("g, h, place, row", "What coordinate h alone makes of the points at a place of its axis, where it does."),
    "inverse": ("x, t, p", "The a_w of a moisture in closed form, nan where model k has none."),
}


def model_files() -> list[str]:
    """The names of the model files, in their order on disk."""
    return sorted(file.stem for file in MODELS.glob("*.py") if file.stem not in ("__init__", "dispatch"))


OPTIONAL = ("part",)  # a file may leave these out


def defines(name: str, call: str) -> bool:
    """Whether a model's file has a function of that name."""
    return call not in OPTIONAL or f"\ndef {call}(" in (MODELS / f"{name}.py").read_text(encoding="utf-8")


def written(names: list[str]) -> str:
    """The text of the dispatch for these models."""
    imports = "".join(f"    {name},\n" for name in names)
    text = (
        '"""Which model a kernel calls: written by builders/model_dispatch.py, one branch for each file here."""\n\n'
        "from __future__ import annotations\n\nimport math\n\n"
        "from isohume.product.sorption.kernels.compiled import inlined\n"
        f"from isohume.product.sorption.models import (\n{imports})\n\n"
        f"MODULES = (\n{imports})\n"
    )
    for call, (arguments, sentence) in CALLS.items():
        text += f'\n\n@inlined\ndef {call}(k, {arguments}):\n    """{sentence}"""\n'
        kept, branch = "return " if call == "inverse" else "", "if"
        for place, name in enumerate(names):
            if not defines(name, call):
                continue
            text += f"    {branch} k == {place}:\n        {kept}{name}.{call}({arguments})\n"
            branch = "if" if kept else "elif"
        if call == "inverse":
            text += "    return math.nan\n"
    return text


if __name__ == "__main__":
    TARGET.write_text(written(model_files()), encoding="utf-8")
