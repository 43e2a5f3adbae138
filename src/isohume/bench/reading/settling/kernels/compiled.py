"""The family of the forecast's kernels."""

from __future__ import annotations

from pathlib import Path

from isohume.foundation.compiled import Family, arithmetic

__all__ = ["FAMILY", "inlined", "kernel"]

FAMILY = Family("forecast", Path(__file__).resolve().parents[1], ("kernels",))
kernel = FAMILY.kernel
inlined = arithmetic  # a product may be added without being rounded first: a quarter of the time
