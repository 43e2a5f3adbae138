"""The loop of two branches measured at the same a_w: no model, no interpolation."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from isohume.foundation.quantity.errors import InputError
from isohume.product.sorption.points import Points

_SAME_A_W = 2e-3  # two set points this close are one: finer than a humidity generator holds


@dataclass(frozen=True, slots=True)
class MeasuredLoop:
    """The widths at shared a_w, driest first; `u_width` where both branches state theirs."""

    a_w: tuple[float, ...]
    width_db: tuple[float, ...]
    u_width: tuple[float, ...] | None
    area_db: float  # trapezoids over the shared a_w
    widest_at: float
    closes_at: (
        float | None
    )  # lowest shared a_w that is open all the way up to the widest; None: open at the driest point


def measured_loop(points: Points, tolerance_db: float = 0.0) -> MeasuredLoop:
    """The loop at the a_w that both branches were measured at, without any model.

        width_i = X_des(a_i) - X_ads(a_i) at shared a_i; area by trapezoids
    points: points of one temperature that name their direction [text].
    tolerance_db: moisture difference that counts as none [kg/kg]; twice u(width) counts as none where that is larger.
    Returns: MeasuredLoop [kg/kg].
    Raises: InputError without directions, with one direction only, several temperatures, or fewer than 3 shared a_w.
    Beyond: points without a partner on the other branch within 0.002 a_w are left out.
    Example: certified carbon, a_w 0.5: 4.685 - 2.331 = 2.354 mmol/g.
    Source: none (definition).
    """
    if points.direction is None:
        raise InputError("direction", None, "adsorption or desorption for every point")
    branches = points.branches()
    if len(branches) < 2:
        raise InputError("direction", " and ".join(branches), "both branches")
    if len(points.temperatures()) > 1:
        raise InputError("temperature_c", sorted(points.temperatures()), "one temperature")
    up, down = branches["adsorption"], branches["desorption"]
    pairs = _shared(up, down)
    if len(pairs) < 3:
        raise InputError("a_w", f"{len(pairs)} shared", "at least 3 a_w measured on both branches")
    i, j = (np.array(side) for side in zip(*pairs, strict=True))
    a_w, width = up.a_w[i], down.moisture_db[j] - up.moisture_db[i]
    u = None if up.u_moisture is None or down.u_moisture is None else np.hypot(up.u_moisture[i], down.u_moisture[j])
    none = np.full(width.size, tolerance_db) if u is None else np.maximum(tolerance_db, 2.0 * u)
    widest = int(np.argmax(width))
    shut = np.flatnonzero(width[: widest + 1] <= none[: widest + 1])
    return MeasuredLoop(
        a_w=tuple(a_w.tolist()),
        width_db=tuple(width.tolist()),
        u_width=None if u is None else tuple(u.tolist()),
        area_db=float(np.sum(0.5 * (width[1:] + width[:-1]) * np.diff(a_w))),
        widest_at=float(a_w[widest]),
        closes_at=float(a_w[min(shut[-1] + 1, widest)]) if shut.size else None,
    )


def _shared(up: Points, down: Points) -> list[tuple[int, int]]:
    """Positions of points at the same a_w on both branches, driest first, each used once."""
    pairs, free = [], set(range(down.count))
    for i in np.argsort(up.a_w, kind="stable"):
        near = [j for j in free if abs(down.a_w[j] - up.a_w[i]) <= _SAME_A_W]
        if near:
            best = min(near, key=lambda j: abs(down.a_w[j] - up.a_w[i]))
            free.discard(best)
            pairs.append((int(i), best))
    return pairs
