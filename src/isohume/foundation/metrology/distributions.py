"""What is known about an input, as a distribution to draw from (JCGM 101, clause 6)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from isohume.foundation.metrology.covariance_matrix import covariance_matrix, square_root
from isohume.foundation.quantity.errors import InputError

Floats = NDArray[np.float64]


class Distribution(Protocol):
    """One input, or a group of correlated ones: `width` columns of draws."""

    @property
    def width(self) -> int:
        """How many inputs the distribution stands for."""

    def draw(self, rng: np.random.Generator, trials: int) -> tuple[Floats, ...]:
        """One array of `trials` numbers for each input."""


@dataclass(frozen=True, slots=True)
class Normal:
    """A best estimate with a standard uncertainty."""

    mean: float
    u: float
    width: int = 1

    def __post_init__(self) -> None:
        _need(self.u, "u")

    def draw(self, rng: np.random.Generator, trials: int) -> tuple[Floats, ...]:
        """Draws: mean + u z."""
        draws = rng.standard_normal(trials)
        draws *= self.u
        draws += self.mean
        return (draws,)


@dataclass(frozen=True, slots=True)
class StudentT:
    """A mean of repeated values: scaled and shifted t with dof degrees of freedom, `scale` = s/sqrt(n)."""

    mean: float
    scale: float
    dof: float
    width: int = 1

    def __post_init__(self) -> None:
        _need(self.scale, "scale")
        if not 1.0 <= self.dof < math.inf:
            raise InputError("dof", self.dof, "finite degrees of freedom of 1 or more")

    def draw(self, rng: np.random.Generator, trials: int) -> tuple[Floats, ...]:
        """Draws: mean + scale t."""
        return (self.mean + self.scale * rng.standard_t(self.dof, trials),)


@dataclass(frozen=True, slots=True)
class Rectangular:
    """Nothing known but two limits."""

    low: float
    high: float
    width: int = 1

    def __post_init__(self) -> None:
        _need_order(self.low, self.high)

    def draw(self, rng: np.random.Generator, trials: int) -> tuple[Floats, ...]:
        """Draws: low + (high - low) r."""
        draws = rng.random(trials)
        draws *= self.high - self.low
        draws += self.low
        return (draws,)


@dataclass(frozen=True, slots=True)
class Triangular:
    """Two limits, the middle likelier than the ends (the sum of two equal rectangular inputs)."""

    low: float
    high: float
    width: int = 1

    def __post_init__(self) -> None:
        _need_order(self.low, self.high)

    def draw(self, rng: np.random.Generator, trials: int) -> tuple[Floats, ...]:
        """Draws: low + (high - low)(r1 + r2)/2."""
        draws = rng.random(trials)
        draws += rng.random(trials)
        draws *= 0.5 * (self.high - self.low)
        draws += self.low
        return (draws,)


@dataclass(frozen=True, slots=True)
class ArcSine:
    """A value that swings sinusoidally between two limits, read at an unknown phase."""

    low: float
    high: float
    width: int = 1

    def __post_init__(self) -> None:
        _need_order(self.low, self.high)

    def draw(self, rng: np.random.Generator, trials: int) -> tuple[Floats, ...]:
        """Draws: middle + half range sin(2 pi r)."""
        middle, half = 0.5 * (self.low + self.high), 0.5 * (self.high - self.low)
        return (middle + half * np.sin(2.0 * np.pi * rng.random(trials)),)


@dataclass(frozen=True, slots=True)
class CorrelatedNormal:
    """Several inputs with a covariance matrix, such as the offset and slope of a fitted line."""

    means: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]

    def __post_init__(self) -> None:
        covariance_matrix(self.covariance, len(self.means))

    @property
    def width(self) -> int:
        """How many inputs the distribution stands for."""
        return len(self.means)

    def draw(self, rng: np.random.Generator, trials: int) -> tuple[Floats, ...]:
        """Draws: means + A z, with A A^T the covariance matrix."""
        root = square_root(np.asarray(self.covariance, dtype=float))
        draws = root @ rng.standard_normal((self.width, trials))
        return tuple(mean + row for mean, row in zip(self.means, draws, strict=True))


def _need(scale: float, name: str) -> None:
    if not 0.0 <= scale < math.inf:
        raise InputError(name, scale, "a finite number of zero or more")


def _need_order(low: float, high: float) -> None:
    if not (math.isfinite(low) and math.isfinite(high) and low < high):
        raise InputError("low", low, f"a finite limit below the upper one, {high}")
