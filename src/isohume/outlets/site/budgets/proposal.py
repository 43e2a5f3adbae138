"""The budget that a method's own data propose: every instrument and product range, and the one that decides."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import ROUND_CEILING, Decimal
from typing import Any

from isohume.bench.decision.budget import LotBudget, own_data_budget
from isohume.bench.decision.living_budget import ENOUGH_DOF, LivingBudget, living_budget
from isohume.bench.decision.unverified_budget import UNVERIFIED
from isohume.bench.record.canonical_form import canonical
from isohume.outlets.site.budgets.gathering import QUARTER, YEAR, Gathered, Window, gather, own_data
from isohume.outlets.site.budgets.seeds import Past, Seeds, marked, past_of, seeded
from isohume.outlets.site.register.models import Instrument, MethodVersion, Product, SpecificationVersion

STEP = Decimal("0.0001")


@dataclass(frozen=True, slots=True)
class Case:
    """One instrument in the range of one product."""

    instrument: Instrument
    product: Product
    specification: SpecificationVersion
    runs: int
    budget: LivingBudget
    seeds: Seeds = field(default_factory=Seeds)


@dataclass(frozen=True, slots=True)
class Proposal:
    """What is proposed for a method version, and every case behind it."""

    version: MethodVersion
    window: Window
    cases: tuple[Case, ...]
    deciding: Case | None
    missing: tuple[str, ...]
    lacking: tuple[str, ...] = ()  # what own data alone lack, where history stands in

    @property
    def u_other(self) -> Decimal:
        """Everything but repeatability, of the case that decides; rounded upwards."""
        return _up(self.deciding.budget.u_other) if self.deciding else Decimal(0)

    @property
    def s_r(self) -> Decimal:
        """The repeatability of one portion, of the case that decides; rounded upwards."""
        return _up(self.deciding.budget.s_r) if self.deciding else Decimal(0)

    def lot_budget(self, n: int, is_median: bool = False) -> LotBudget:
        """The proposed budget for some portions."""
        return own_data_budget(self.u_other, self.s_r, n, is_median, self.source)

    @property
    def source(self) -> str:
        """Where its figures come from, as the budget will say it."""
        if self.deciding is None:
            return ""
        found = self.deciding.budget
        if self.unverified:
            return self._source_with_history(self.deciding)
        days = f"{self.window.first.isoformat()} to {self.window.last.isoformat()}"
        return (
            f"Own data {days}: {found.checks} opening checks of "
            f"{self.deciding.instrument.name} on {', '.join(found.references)}; s_r with "
            f"{found.repeatability.dof:g} degrees of freedom"
        )[:300]

    @property
    def unverified(self) -> bool:
        """Whether anything of what decides which case decides is historical, unverified."""
        return any(case.seeds for case in self.cases if case.runs)

    def _source_with_history(self, case: Case) -> str:
        found, seeds, until = case.budget, case.seeds, self.window.last.isoformat()
        if not seeds:
            others = next(_called(one) for one in self.cases if one.runs and one.seeds)
            return f"{UNVERIFIED}: {_called(case)} decides by own data against {others}, which rests on history"[:300]
        return (
            f"{UNVERIFIED}: {seeds.checks} of {found.checks} checks of {case.instrument.name} on "
            f"{', '.join(found.references)} and {seeds.pairs} of {found.repeatability.dof:g} degrees of freedom of s_r "
            f"come from spreadsheets, the rest from own data up to {until}"
        )[:300]

    def as_json(self) -> dict[str, Any]:
        """The proposal as a refresh keeps it."""
        return {
            "first_day": self.window.first.isoformat(),
            "last_day": self.window.last.isoformat(),
            "u_other": f"{self.u_other:f}",
            "s_r": f"{self.s_r:f}",
            "deciding": _case_json(self.deciding) if self.deciding else None,
            "cases": [_case_json(case) for case in self.cases],
            "missing": list(self.missing),
            **({"lacking": list(self.lacking)} if self.lacking else {}),
        }

    @property
    def digest(self) -> str:
        """By which the proposal that was looked at is known again."""
        return hashlib.sha256(canonical(self.as_json())).hexdigest()


def propose(version: MethodVersion, at: datetime) -> Proposal:
    """What the last quarter's data propose; the last year's where a quarter is not enough; with history's help then."""
    found = _proposed(version, gather(version, at, QUARTER))
    if found.deciding is None:
        year = gather(version, at, YEAR)
        found = _proposed(version, year)
        if found.deciding is None and year.checks:
            helped = _proposed(version, year, past_of(year))
            found = replace(helped, lacking=found.missing) if helped.deciding is not None else found
    return found


def _proposed(version: MethodVersion, gathered: Gathered, past: Past | None = None) -> Proposal:
    cases = tuple(_cases(gathered, past))
    read = [case for case in cases if case.runs]
    missing = [f"{_called(case)}: {why}" for case in read for why in case.budget.missing]
    if not gathered.checks:
        missing.append("No passed check under this method yet.")
    elif not read:
        missing.append("No product with a specification was read under this method yet.")
    n = max(version.portions, 1)
    deciding = max(read, key=lambda case: case.budget.u(n)) if read and not missing else None
    return Proposal(version, gathered.window, cases, deciding, tuple(missing))


def _cases(gathered: Gathered, past: Past | None) -> Iterator[Case]:
    for product in gathered.version.method.products.order_by("name"):
        spec = product.specification
        if spec is None:
            continue
        for instrument in gathered.instruments:
            runs = [
                run
                for run in gathered.runs
                if run.instrument_id == instrument.pk and run.portion.sample.lot.product_id == product.pk
            ]
            data, seeds = own_data(gathered, instrument, spec, ENOUGH_DOF), Seeds()
            if past is not None:
                data, seeds = seeded(data, instrument, product, past)
            yield Case(instrument, product, spec, len(runs), marked(living_budget(data), seeds), seeds)


def _called(case: Case) -> str:
    return f"{case.product.name} on {case.instrument.name}"


def _up(u: float) -> Decimal:
    """Rounded upwards to four decimals: the last digit that is shown is never on the wrong side."""
    return max(Decimal(repr(u)).quantize(STEP, ROUND_CEILING), STEP)


def _case_json(case: Case) -> dict[str, Any]:
    found, seeds = case.budget, case.seeds
    past = {"historical_unverified": {"checks": seeds.checks, "pairs": seeds.pairs}} if seeds else {}
    return {
        **past,
        "instrument": case.instrument.name,
        "product": case.product.name,
        "specification": case.specification.version,
        "runs": case.runs,
        "checks": found.checks,
        "references": list(found.references),
        "u_other": found.u_other,
        "dof_other": _finite(found.dof_other),
        "s_r": found.s_r,
        "dof_s_r": found.repeatability.dof,
        "components": [
            {
                "name": part.component.name,
                "u": part.component.u,
                "dof": _finite(part.component.dof),
                "formula": part.formula,
                "found": part.found,
            }
            for part in found.parts
        ],
    }


def _finite(dof: float) -> float | None:
    return None if dof == float("inf") else dof
