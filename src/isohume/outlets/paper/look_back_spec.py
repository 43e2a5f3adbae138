"""What the two pictures of a look-back show: the lots before and after on a_w lines, and the bias against a_w."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class LotMark:
    """One lot: as read, corrected with its interval, its limits and acceptance limits."""

    name: str
    read: float
    corrected: float
    half_width: float
    lower: float | None = None
    upper: float | None = None
    lower_acceptance: float | None = None
    upper_acceptance: float | None = None
    words: str = ""


@dataclass(frozen=True, slots=True)
class BiasMark:
    """A reference of the failed check: its a_w, its deviation with the expanded uncertainty, within or not."""

    name: str
    a_w: float
    deviation: float
    half_width: float
    within: bool


@dataclass(frozen=True, slots=True)
class BiasPlace:
    """A lot's place in the bias picture: its corrected value, and the bias taken off there."""

    name: str
    a_w: float
    bias: float
    half_width: float


@dataclass(frozen=True, slots=True)
class LookBackSpec:
    """The specification that screen and paper share. limit: the laboratory's own, for deviations."""

    title: str
    lots: tuple[LotMark, ...]
    references: tuple[BiasMark, ...]
    places: tuple[BiasPlace, ...]
    curve: tuple[tuple[float, float, float], ...]  # a_w, bias, half width
    limit: float
