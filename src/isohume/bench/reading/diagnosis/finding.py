"""What a rule finds in a trace."""

from __future__ import annotations

from dataclasses import dataclass

DIAGNOSES = (
    "settled",
    "still moving",
    "slow",
    "warm sample",
    "cold sample",
    "condensation",
    "leak",
    "volatile",
    "stopped early",
    "unfamiliar",
)


@dataclass(frozen=True, slots=True)
class Finding:
    """A diagnosis with its evidence in words and the act that follows."""

    diagnosis: str
    evidence: tuple[str, ...]
    action: str
