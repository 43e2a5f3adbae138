"""The family of the isotherms' kernels and models."""

from __future__ import annotations

from pathlib import Path

from isohume.foundation.compiled import Family, arithmetic, inlined

__all__ = ["FAMILY", "arithmetic", "are_ready", "inlined", "kernel", "mark_ready"]

FAMILY = Family("kernels", Path(__file__).resolve().parents[1], ("kernels", "models"))
kernel, are_ready, mark_ready = FAMILY.kernel, FAMILY.are_ready, FAMILY.mark_ready
