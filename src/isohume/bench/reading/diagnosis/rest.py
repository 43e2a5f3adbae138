"""A trace without trouble: settled, still moving, slow, or stopped before it was there."""

from __future__ import annotations

import math

import numpy as np

from isohume.bench.reading.diagnosis.finding import Finding
from isohume.bench.reading.diagnosis.signs import SLOW_S, Signs
from isohume.bench.reading.settling.kernels.step import LEAST

_A_CREEP = 3.0


def settled(signs: Signs) -> Finding | None:
    """The method's criterion was met, and the end of the trace meets it still."""
    if signs.settled_at is None or not (signs.stayed and signs.is_sure):
        return None
    at = float(signs.trace.elapsed_s[signs.settled_at])
    said = f"It met the criterion ({signs.criterion.words}) at {at:.0f} s, and stayed there."
    return Finding("settled", (said,), "Accept the reading.")


def too_coarse(signs: Signs) -> Finding | None:
    """The readings' last digit is coarser than the criterion: however alike, they cannot show that it was met."""
    if not signs.is_too_coarse or signs.trace.n < LEAST:
        return None
    digit = f"{signs.last_digit:f}"
    said = (
        f"The readings are coarser than the criterion ({signs.criterion.words}): their last digit is {digit}.",
        f"Readings that are alike may still have moved by {digit}: it never settles by this criterion.",
    )
    action = (
        "Take over more digits where the instrument gives them (in the rule that reads its lines), or give the method "
        "a criterion that it can show. A value taken now is a non-equilibrium estimate."
    )
    return Finding("stopped early" if signs.ended else "still moving", (*said, *_forecast(signs)), action)


def not_sure(signs: Signs) -> Finding | None:
    """It met the criterion, and what was seen lets it still end far away."""
    if signs.settled_at is None or signs.forecast is None or not signs.stayed:
        return None
    at = float(signs.trace.elapsed_s[signs.settled_at])
    said = (
        f"It met the criterion ({signs.criterion.words}) at {at:.0f} s, and may still move on by "
        f"{signs.forecast.half_width:.4f}: too much for a reading that has settled.",
        *_forecast(signs),
    )
    if not signs.ended:
        return Finding("still moving", said, "Wait.")
    action = "Read the portion again and wait longer. The last value is a non-equilibrium estimate."
    return Finding("stopped early", said, action)


def moved_on(signs: Signs) -> Finding | None:
    """It met the criterion and did not stay: a creep too slow for the criterion, or a rest that was left."""
    if signs.settled_at is None or signs.rest is None or signs.stayed:
        return None
    at = float(signs.trace.elapsed_s[signs.settled_at])
    there = f"at {at:.0f} s with {signs.rest:.4f}, and is at {signs.last:.4f} now"
    met = f"It met the criterion ({signs.criterion.words}) {there}."
    if _creeps(signs):
        action = "Wait, or ask a longer window of the criterion. A value taken now is a non-equilibrium estimate."
        return Finding("slow", (met, "It moves too slowly for the criterion to see.", *_forecast(signs)), action)
    action = "Look at the cup and the chamber: was it opened, knocked, or not closed yet? Read a new portion."
    return Finding("unfamiliar", (met, "What has come to rest does not leave it by itself."), action)


def _creeps(signs: Signs) -> bool:
    """Whether no window after the criterion was met moved by more than a few times its change."""
    t, window = signs.trace.elapsed_s, float(signs.criterion.window_s)
    after = np.arange(signs.settled_at or 0, t.size)
    then = np.searchsorted(t, t[after] - window, side="right") - 1
    moved = np.abs(signs.trace.a_w[after] - signs.trace.a_w[np.maximum(then, after[0])])
    return float(moved.max()) <= _A_CREEP * float(signs.criterion.change) + 6.0 * signs.noise


def slow(signs: Signs) -> Finding | None:
    """It will settle, and not within twice the usual time."""
    if signs.settles_after_s is None or signs.settles_after_s <= SLOW_S:
        return None
    when = _when(signs)
    said = f"At this pace it settles {when} after the run began; a reading usually takes about 5 minutes."
    action = (
        "Wait, or read a new portion cut smaller, with the chamber brought near the sample's a_w before. A value taken "
        "now is a non-equilibrium estimate."
    )
    return Finding("slow", (said, *_forecast(signs)), action)


def stopped_early(signs: Signs) -> Finding | None:
    """The run was ended before the criterion was met, though it would soon have been."""
    if not signs.ended or signs.forecast is None:
        return None
    said = f"The run ended at {signs.elapsed_s:.0f} s, before the criterion ({signs.criterion.words}) was met."
    action = "Read the portion again and wait until it has settled. The last value is a non-equilibrium estimate."
    more = f"It would have settled {_when(signs)} after it began."
    return Finding("stopped early", (said, more, *_forecast(signs)), action)


def still_moving(signs: Signs) -> Finding:
    """The run goes on."""
    said = f"It has not met the criterion ({signs.criterion.words}) yet."
    more = (f"It will settle {_when(signs)} after it began.",) if signs.settles_after_s is not None else ()
    return Finding("still moving", (said, *more, *_forecast(signs)), "Wait.")


def _when(signs: Signs) -> str:
    after = signs.settles_after_s
    if after is None or math.isinf(after):
        return "more than four hours"
    return f"about {after / 60.0:.0f} min" if after >= 120.0 else f"about {after:.0f} s"


def _forecast(signs: Signs) -> tuple[str, ...]:
    found = signs.forecast
    if found is None:
        return (signs.without_forecast,) if signs.ends_beyond else ()
    cut = f" (cut there, for no water activity lies beyond {found.cut})" if found.cut else ""
    return (f"It is forecast to end at {found.value:.4f}, between {found.low:.4f} and {found.high:.4f}{cut}.",)
