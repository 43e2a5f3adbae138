"""Past checks and duplicates from spreadsheets, where a plant's own data are too few for a budget.

They are historical, unverified: whatever comes of them says so, and releases no safety limit. Where own data are
enough they are not looked at.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from django.db.models import Min

from isohume.bench.decision.living_budget import BIAS, DAY, DRIFT, ENOUGH_DOF, LivingBudget, Part, too_few_checks
from isohume.bench.decision.own_data import CheckedReference, OwnData, bracket_of, pooled_variance
from isohume.bench.decision.unverified_budget import UNVERIFIED
from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.budgets.gathering import Gathered, scale_since
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.incoming.queries import (
    HistoricDeviation,
    HistoricDuplicate,
    historic_check_deviations,
    historic_duplicates,
    is_reference,
)
from isohume.outlets.site.register.models import Instrument, Product

BACK = timedelta(days=731)
"""Two years: what an instrument did before says little of it now (no source)."""
EPOCH = date(1970, 1, 1)
FROM_CHECKS = (BIAS, DAY, DRIFT)  # a reference's own u comes from own checks alone


@dataclass(frozen=True, slots=True)
class Seeds:
    """How much of a case's data is historical, unverified: past checks, and pairs of portions."""

    checks: int = 0
    pairs: int = 0

    def __bool__(self) -> bool:
        return bool(self.checks or self.pairs)

    def said_of(self, component: str, budget: LivingBudget) -> str:
        """What of a component's data is historical; "" where nothing is."""
        if not self.checks or component not in FROM_CHECKS:
            return ""
        return f"{self.checks} of {budget.checks} checks {UNVERIFIED}"


@dataclass(frozen=True, slots=True)
class Past:
    """What spreadsheets tell of a plant's instruments and products before its own first checks."""

    deviations: dict[int, list[HistoricDeviation]] = field(default_factory=dict)
    duplicates: tuple[HistoricDuplicate, ...] = ()


def past_of(gathered: Gathered) -> Past:
    """Past checks of instruments that were checked since, from before their first own check and on their scale now."""
    site, first_day = gathered.version.method.site, gathered.window.last - BACK
    scale = scale_since(gathered.version, gathered.window)
    of_own = Check.objects.filter(instrument__site=site).values_list("instrument")
    own: dict[int, datetime] = dict(of_own.annotate(first=Min("last_read_at")))
    deviations = {}
    for instrument in gathered.instruments:
        begin = max([first_day, *(plant_day(at, site) for pk, at in scale.items() if pk == instrument.pk)])
        end = plant_day(own[instrument.pk], site)
        found = historic_check_deviations(instrument)
        deviations[instrument.pk] = [one for one in found if begin < one.on < end]
    products = set(gathered.version.method.products.values_list("name", flat=True))
    pairs = tuple(one for one in historic_duplicates(site) if one.on > first_day and one.product in products)
    return Past(deviations, pairs)


def seeded(own: OwnData, instrument: Instrument, product: Product, past: Past) -> tuple[OwnData, Seeds]:
    """Own data with as much of the past as they lack: checks where too few, duplicates where too few."""
    checked: Sequence[CheckedReference] = ()
    if too_few_checks(bracket_of(own.checked, own.low, own.high)):
        checked = tuple(_checked(past.deviations.get(instrument.pk, ()), own.checked))
    pairs = _pairs(pooled_variance(own.portions).dof, product, past)
    seeds = Seeds(len({row.check for row in checked}), len(pairs))
    return replace(own, checked=(*checked, *own.checked), portions=(*own.portions, *pairs)), seeds


def _checked(past: Iterable[HistoricDeviation], own: Sequence[CheckedReference]) -> Iterable[CheckedReference]:
    """Past readings of references that own checks read too: a spreadsheet does not know a reference's u."""
    known = {row.solution: row.u_reference for row in own}
    for one in past:
        solution = next((name for name in known if is_reference(one.reference, name)), None)
        if solution is not None:
            day = float((one.on - EPOCH).days)
            check = f"{UNVERIFIED}, {one.on.isoformat()}"
            yield CheckedReference(check, solution, day, one.expected_a_w, one.deviation, known[solution])


def _pairs(own_dof: float, product: Product, past: Past) -> tuple[tuple[float, float], ...]:
    """The product's own past pairs; those of all products of the method where they are too few."""
    if own_dof >= ENOUGH_DOF:
        return ()
    by: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for one in past.duplicates:
        by[one.product].append((one.first, one.second))
    mine = by[product.name]
    if own_dof + len(mine) >= ENOUGH_DOF:
        return tuple(mine)
    return tuple(pair for pairs in by.values() for pair in pairs)


def marked(budget: LivingBudget, seeds: Seeds) -> LivingBudget:
    """A budget whose components say what of their data is historical, unverified."""
    if not seeds:
        return budget
    parts = tuple(_marked(part, budget, seeds) for part in budget.parts)
    return replace(budget, parts=parts)


def _marked(part: Part, budget: LivingBudget, seeds: Seeds) -> Part:
    said = seeds.said_of(part.component.name, budget)
    if not said:
        return part
    found = f"{part.found}; {said}"
    return replace(part, found=found, component=replace(part.component, source=f"{part.formula}; {found}"))
