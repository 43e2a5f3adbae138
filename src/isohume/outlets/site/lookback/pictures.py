"""The pictures of a look-back from its results, for screen and paper."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

from isohume.bench.assurance.bias import BiasPoint, bias_at
from isohume.bench.decision.look_back import ResultAtRisk
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.paper.look_back_spec import BiasMark, BiasPlace, LookBackSpec, LotMark
from isohume.outlets.site.lookback.page import LookBackPage

STEPS = 24
K = 2.0
BOUNDS = (0.0, 1.2)
NONE_BELIEVED = {True: "", False: "; no correction can be believed"}


def picture_of(page: LookBackPage) -> LookBackSpec:
    """Both pictures of a page."""
    back, check = page.looked.back, page.check
    within = {r.name: r.within for r in back.window.references}
    shown = [(row.lot.code, row.result) for row in page.rows]
    return LookBackSpec(
        title=f"Look-back on check {check.pk} of {check.instrument.name}",
        lots=tuple(_lot(code, result) for code, result in shown),
        references=tuple(
            BiasMark(p.name.removesuffix(" saturated"), p.a_w, p.deviation, K * p.u, within.get(p.name, False))
            for p in sorted(back.points, key=lambda p: p.a_w)
        ),
        places=tuple(
            BiasPlace(code, _inside(float(r.given.value) - r.bias.bias), r.bias.bias, K * r.bias.u) for code, r in shown
        ),
        curve=_curve(back.points),
        limit=float(check.limit),
    )


def _lot(code: str, result: ResultAtRisk) -> LotMark:
    specification = result.given.specification
    lower, upper = specification.lower, specification.upper
    acceptance, believed = result.decision.acceptance, result.bias.believed
    return LotMark(
        name=code,
        read=float(result.given.value),
        corrected=float(result.corrected),
        half_width=K * result.u,
        lower=float(lower.value) if lower else None,
        upper=float(upper.value) if upper else None,
        lower_acceptance=_number(acceptance[0]),
        upper_acceptance=_number(acceptance[1]),
        words=f"{result.given.verdict_before or 'not judged'}, then {result.decision.verdict}{NONE_BELIEVED[believed]}",
    )


def _number(value: Decimal | None) -> float | None:
    return None if value is None else float(value)


def _inside(a_w: float) -> float:
    return min(max(a_w, BOUNDS[0]), BOUNDS[1])


def _curve(points: tuple[BiasPoint, ...]) -> tuple[tuple[float, float, float], ...]:
    """The bias from the lowest to the highest reference; none where it cannot be told."""
    ordered = sorted(points, key=lambda point: point.a_w)
    if any(one.read >= other.read for one, other in pairwise(ordered)):
        return ()
    out = []
    for one, other in pairwise(ordered):
        for step in range(STEPS + 1):
            reading = one.read + (other.read - one.read) * step / STEPS
            try:
                found = bias_at(reading, ordered)
            except InputError:
                return ()
            out.append((reading - found.bias, found.bias, K * found.u))
    return tuple(out)
