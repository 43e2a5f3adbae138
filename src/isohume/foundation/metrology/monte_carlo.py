"""Propagation of distributions by Monte Carlo (JCGM 101): intervals, adaptive trials, check of a GUM u."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from isohume.foundation.metrology.distributions import Distribution
from isohume.foundation.quantity.errors import InputError

Floats = NDArray[np.float64]
Model = Callable[..., Any]
Interval = tuple[float, float]
DEFAULT_SEED = 20250101
_BLOCK = 65_536  # draws of one block stay in the processor's cache


@dataclass(frozen=True, slots=True)
class MonteCarlo:
    """What the trials say about the result.

    `symmetric` has equal probability on both sides, `shortest` is the shortest interval of that probability;
    `tolerance` is the numerical tolerance aimed at (None for a fixed number of trials), `stable` whether it
    was reached.
    """

    value: float
    u: float
    probability: float
    symmetric: Interval
    shortest: Interval
    trials: int
    seed: int
    tolerance: float | None = None
    stable: bool | None = None


def simulate(
    model: Model,
    inputs: Sequence[Distribution],
    trials: int = 1_000_000,
    *,
    probability: float = 0.95,
    seed: int = DEFAULT_SEED,
) -> MonteCarlo:
    """A fixed number of Monte Carlo trials of a model.

        y_r = f(x_r), x_r drawn from the inputs; interval of q = floor(p M + 1/2) ordered trials
    model: a function of arrays, one for each input, returning an array [any unit].
    inputs: the distributions, in the order of the model's arguments [units of the inputs].
    trials: number of trials M [1], enough that (1 - p) M is 100 or more.
    probability: coverage probability p [1], above 0 and below 1.
    seed: seed of the generator [1]; the same seed gives the same result.
    Returns: the MonteCarlo [unit of the result].
    Raises: InputError for too few trials or a model whose result is not one finite number a trial.
    Example: four standard normal inputs added: u = 2.00, symmetric interval -3.92 to 3.92.
    Source: JCGM101, 7.2 to 7.7.
    """
    _need_probability(probability)
    least = math.ceil(100.0 / (1.0 - probability) - 1e-9)
    if trials < least:
        raise InputError("trials", trials, f"at least {least} at a probability of {probability}")
    rng = np.random.Generator(np.random.PCG64(seed))
    results = _trials(model, inputs, trials, rng)
    return _summary(results, probability, seed)


def simulate_until_stable(
    model: Model,
    inputs: Sequence[Distribution],
    *,
    digits: int = 2,
    probability: float = 0.95,
    seed: int = DEFAULT_SEED,
    most_trials: int = 20_000_000,
) -> MonteCarlo:
    """Monte Carlo trials, block by block, until the result is stable to the wanted digits of u.

        stop when 2 s of value, u and both end points over the blocks are at most delta
    model: a function of arrays, one for each input, returning an array [any unit].
    inputs: the distributions, in the order of the model's arguments [units of the inputs].
    digits: significant digits of u that should be meaningful [1], 1 or 2, seldom more.
    probability: coverage probability [1], above 0 and below 1.
    seed: seed of the generator [1].
    most_trials: where to stop all the same [1]; then `stable` is False.
    Returns: the MonteCarlo with its tolerance delta [unit of the result].
    Raises: InputError as simulate does, or for digits below 1.
    Beyond: with most_trials reached the result says that it is not stable.
    Example: four standard normal inputs, 2 digits: delta 0.05.
    Source: JCGM101, 7.9.
    """
    _need_probability(probability)
    block = max(math.ceil(100.0 / (1.0 - probability) - 1e-9), 10_000)
    rng = np.random.Generator(np.random.PCG64(seed))
    blocks: list[Floats] = []
    figures: list[tuple[float, float, float, float]] = []
    stable, delta = False, math.inf
    while (len(blocks) + 1) * block <= most_trials or len(blocks) < 2:
        blocks.append(_trials(model, inputs, block, rng))
        one = _summary(blocks[-1], probability, seed)
        figures.append((one.value, one.u, *one.symmetric))
        if len(blocks) < 2:
            continue
        delta = numerical_tolerance(float(np.mean([f[1] for f in figures])), digits)
        spread = np.std(np.asarray(figures), axis=0, ddof=1) / math.sqrt(len(figures))
        if bool(np.all(2.0 * spread <= delta)):
            stable = True
            break
    return _summary(np.concatenate(blocks), probability, seed, delta, stable)


def numerical_tolerance(u: float, digits: int = 2) -> float:
    """Half a unit in the last significant digit kept of a standard uncertainty.

        u = c 10^l with c an integer of `digits` digits; delta = 10^l/2
    u: standard uncertainty [any unit], greater than zero.
    digits: significant digits kept [1], 1 or more.
    Returns: tolerance delta [same unit].
    Raises: InputError for a u that is not positive or digits below 1.
    Example: f(0.00035, 2) = 0.000005 (the source's example of a mass calibration).
    Source: JCGM101, 7.9.2.
    """
    if not 0.0 < u < math.inf:
        raise InputError("u", u, "a finite standard uncertainty greater than zero")
    if digits < 1:
        raise InputError("digits", digits, "1 or more")
    # printed in scientific notation, so that 0.0996 kept to two digits is 1.0e-1 and not 9.9e-2
    exponent = int(f"{u:.{digits - 1}e}".split("e")[1]) - (digits - 1)
    return 0.5 * 10.0**exponent


@dataclass(frozen=True, slots=True)
class Comparison:
    """Whether a GUM interval agrees with the Monte Carlo one, end by end."""

    low_difference: float
    high_difference: float
    tolerance: float

    @property
    def agrees(self) -> bool:
        """Whether both end points agree within the tolerance."""
        return max(self.low_difference, self.high_difference) <= self.tolerance


def compare_with_gum(
    value: float, u: float, expanded_u: float, trials: MonteCarlo, digits: int = 2, *, shortest: bool = False
) -> Comparison:
    """A result of the law of propagation held against Monte Carlo.

        d_low = abs(y - U - y_low), d_high = abs(y + U - y_high); both at most delta
    value: the GUM value y [unit of the result].
    u: its standard uncertainty [same unit], greater than zero.
    expanded_u: its expanded uncertainty U [same unit], at the same coverage probability.
    trials: the Monte Carlo result [same unit].
    digits: significant digits of u that should be meaningful [1], 1 or 2.
    shortest: whether the shortest interval is compared instead of the symmetric one [1].
    Returns: the Comparison [same unit].
    Raises: InputError for a u that is not positive.
    Example: four standard normal inputs: U = 3.92 agrees within delta 0.05.
    Source: JCGM101, 8.
    """
    low, high = trials.shortest if shortest else trials.symmetric
    delta = numerical_tolerance(u, digits)
    return Comparison(abs(value - expanded_u - low), abs(value + expanded_u - high), delta)


def _need_probability(probability: float) -> None:
    if not 0.0 < probability < 1.0:
        raise InputError("probability", probability, "above 0 and below 1")


def _trials(model: Model, inputs: Sequence[Distribution], trials: int, rng: np.random.Generator) -> Floats:
    results = np.empty(trials)
    for start in range(0, trials, _BLOCK):
        stop = min(start + _BLOCK, trials)
        drawn = [column for one in inputs for column in one.draw(rng, stop - start)]
        block = np.asarray(model(*drawn), dtype=float)
        if block.shape != (stop - start,):
            raise InputError("model", f"shape {block.shape}", f"one number a trial, ({stop - start},)")
        results[start:stop] = block
    if not np.isfinite(results).all():
        bad = int(np.count_nonzero(~np.isfinite(results)))
        raise InputError("model", f"{bad} of {trials} trials not finite", "finite numbers in every trial")
    return results


def _summary(
    results: Floats, probability: float, seed: int, tolerance: float | None = None, stable: bool | None = None
) -> MonteCarlo:
    trials = results.size
    value, u = float(results.mean()), float(results.std(ddof=1))
    q = math.floor(probability * trials + 0.5)
    low, high = _tails(results, q)
    r = (trials - q + 1) // 2  # of 1-based ordered trials, as the source counts them
    tightest = int((high - low).argmin())
    return MonteCarlo(
        value=value,
        u=u,
        probability=probability,
        symmetric=(float(low[r - 1]), float(high[r - 1])),
        shortest=(float(low[tightest]), float(high[tightest])),
        trials=trials,
        seed=seed,
        tolerance=tolerance,
        stable=stable,
    )


def _tails(results: Floats, q: int) -> tuple[Floats, Floats]:
    """The lowest and the highest M - q trials in order; an interval of q trials joins one of each."""
    few = results.size - q
    if few > q:
        ordered = np.sort(results)
        return ordered[:few], ordered[q:]
    # sorting the tails alone is several times cheaper than sorting all
    parted = np.partition(results, (few - 1, q))
    return np.sort(parted[:few]), np.sort(parted[q:])
