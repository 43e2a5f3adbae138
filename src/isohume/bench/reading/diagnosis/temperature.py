"""A sample warmer or colder than the block: what its thermometer says, or the shape that it leaves."""

from __future__ import annotations

import numpy as np

from isohume.bench.reading.diagnosis.finding import Finding
from isohume.bench.reading.diagnosis.signs import QUICK_S, Signs
from isohume.bench.reading.warm_sample import MISMATCH_LIMIT_K
from isohume.foundation.quantity.errors import RangeError
from isohume.foundation.water import mismatch_error

_RECENT = 60
"""Readings in which a temperature still counts as that of the end."""
_EXPLAINS = 0.25  # of what the mismatch would do, seen in the reading
_TURN = 3.0  # times a change that counts
WARM = "Let the sample come to the block's temperature in its closed cup and read it again; the chamber may be damp."
COLD = "Let the sample come to the block's temperature in its closed cup, wipe the cup, and read it again."


def warm_sample(signs: Signs) -> Finding | None:
    """It reads high while it is warm: at the end still, a fall that its temperature explains, or an overshoot."""
    remains = _remains(signs)
    if remains is not None and remains[0] > 0.0:
        return Finding("warm sample", _said_of_end("warmer", *remains, signs), WARM)
    measured = _measured(signs)
    if measured is not None:
        excess, explained, moved = measured
        if excess < MISMATCH_LIMIT_K or explained > -signs.matters or moved > _EXPLAINS * explained:
            return None
        return Finding("warm sample", _said("warmer", excess, explained, moved), WARM)
    return _overshoot(signs)


def cold_sample(signs: Signs) -> Finding | None:
    """It reads low while it is cold, then creeps up: only a thermometer tells it from a slow sample."""
    remains = _remains(signs)
    if remains is not None and remains[0] < 0.0:
        return Finding("cold sample", _said_of_end("colder", *remains, signs), COLD)
    measured = _measured(signs)
    if measured is None:
        return None
    excess, explained, moved = measured
    if excess > -MISMATCH_LIMIT_K or explained < signs.matters or moved < _EXPLAINS * explained:
        return None
    return Finding("cold sample", _said("colder", excess, explained, moved), COLD)


def _remains(signs: Signs) -> tuple[float, float | None] | None:
    """Excess and error of a reading that would be taken now; None where they do not count, or nothing would be."""
    late = signs.excess_k[-_RECENT:]
    known = late[~np.isnan(late)][-5:]
    if not known.size or not signs.is_over:
        return None  # while it goes on it may still come to the block's temperature
    excess, block = float(known.mean()), float(np.nanmean(signs.trace.block_temperature_c))
    if abs(excess) <= signs.mismatch_limit_k + 1e-9:  # means of typed temperatures carry binary dust
        return None
    back = _error(signs, block + excess, block)  # of a reading at the sample's temperature that is taken to the block's
    return None if back is not None and abs(back) <= signs.matters else (excess, None if back is None else -back)


def _error(signs: Signs, block_c: float, sample_c: float) -> float | None:
    """By how much a sample of the last reading's a_w would read too high; None where there is ice, or no water."""
    try:
        return float(mismatch_error(float(np.clip(signs.last, 0.01, 0.99)), sample_c + 273.15, block_c + 273.15))
    except RangeError:
        return None


def _said_of_end(word: str, excess: float, error: float | None, signs: Signs) -> tuple[str, ...]:
    at_the_end = f"At the end the sample is still {abs(excess):.1f} K {word} than the block."
    if error is None or not 0.0 <= signs.last - error <= 1.0:
        return (at_the_end, "A reading is off by about 6 % of itself a kelvin: this one says nothing of the sample.")
    high = "high" if error > 0.0 else "low"
    return (at_the_end, f"By that alone a reading of {signs.last:.4f} is about {abs(error):.3f} too {high}.")


def _measured(signs: Signs) -> tuple[float, float, float] | None:
    """Excess at the start, the change that it explains from a quick sample's rest to the end, and the change seen."""
    excess, t = signs.excess_k, signs.trace.elapsed_s - signs.trace.elapsed_s[0]
    known = ~np.isnan(excess)
    if not known.any():
        return None
    from_s = min(QUICK_S, 0.5 * t[-1])
    then, now = known & (t <= from_s), known
    if not then.any():
        return None
    at_then, at_now = float(excess[then][-5:].mean()), float(excess[now][-5:].mean())
    begin = float(excess[known][:5].mean())
    block = float(np.nanmean(signs.trace.block_temperature_c))
    error_now, error_then = (_error(signs, block, block + excess) for excess in (at_now, at_then))
    if error_now is None or error_then is None:
        return None
    seen = signs.last - float(signs.trace.a_w[t <= from_s][-5:].mean())
    return begin, error_now - error_then, seen


def _said(word: str, excess: float, explained: float, moved: float) -> tuple[str, ...]:
    return (
        f"The sample was {abs(excess):.1f} K {word} than the block when the run began.",
        f"As it came closer the reading moved by {moved:+.4f}; its temperature explains {explained:+.4f}.",
    )


def _overshoot(signs: Signs) -> Finding | None:
    """Rises, turns, and falls towards rest."""
    t, y = signs.part(0.0, np.inf)
    if y.size < 12:
        return None
    smooth = np.convolve(y, np.ones(5) / 5.0, mode="valid")
    top = int(np.argmax(smooth))
    rise, fall = float(smooth[top] - smooth[0]), float(smooth[top] - smooth[-1])
    if signs.rest is not None and not signs.stayed and abs(signs.rest - float(smooth[top])) < _TURN * signs.matters:
        return None  # it had come to rest at its top and left it: no overshoot does that
    if min(rise, fall) < _TURN * signs.matters or not _no_second_turn(smooth[top:], signs.matters):
        return None
    rises = f"it rises to {smooth[top]:.4f} at {t[top + 2]:.0f} s and has fallen by {fall:.4f} since"
    return Finding("warm sample", (f"The reading overshoots: {rises}.", "No sample temperature was taken."), WARM)


def _no_second_turn(falling: np.ndarray, matters: float) -> bool:
    """Whether it only falls from its top on."""
    lowest = np.minimum.accumulate(falling)
    return bool(float((falling - lowest).max()) < 2.0 * matters)
