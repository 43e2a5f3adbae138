"""The results about a failed check as they stood when it was entered: what was retested since is not among them."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from isohume.bench.assurance.bias import BiasPoint
from isohume.bench.assurance.look_back import Window
from isohume.bench.decision import Specification
from isohume.bench.decision.budget import LotBudget, own_data_budget, starter_budget
from isohume.bench.decision.look_back import PortionRead, ResultGiven
from isohume.bench.record.lot_description import STARTER_SOURCE, STARTER_U
from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.standing_of import limits_of
from isohume.outlets.site.checks.stated import Stated
from isohume.outlets.site.checks.window_of_check import bias_points_on, runs_between, scale_of_check
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.register.models import MethodVersion, SpecificationVersion


@dataclass(frozen=True, slots=True)
class Found:
    """A result with the lot it is of and the record that said it; without one it had not been judged."""

    given: ResultGiven
    lot: Lot
    record: LotRecord | None


def results_about(check: Check, window: Window) -> list[Found]:
    """One result a lot with counting runs in the window's stretch of time, in a fixed number of queries.

    check: the failed check; its entry is the moment the results are taken at. Raises: InputError for bad limits.
    """
    related = "method_version__method", "portion__sample"
    read = list(runs_between(check, window).select_related(*related).order_by("read_at", "pk"))
    records = _records({run.portion.sample.lot_id for run in read}, check.entered_at)
    counted = Counted(check.entered_at, [*read, *(run for record in records.values() for run in record.runs.all())])
    scales = Scales(check)
    between: dict[int, list[Run]] = defaultdict(list)
    for run in read:
        # the window says between which checks; the bench's rule says for each value whether it is at risk
        if counted(run) and window.holds(scales.portion(run)):
            between[run.portion.sample.lot_id].append(run)
    lots = Lot.objects.filter(pk__in=between).select_related("product", "specification", "site")
    not_judged = NotJudged(scales)
    return [
        _recorded(lot, between[lot.pk], records.get(lot.pk), counted, scales)
        or Found(not_judged.as_read(lot, between[lot.pk], records.get(lot.pk)), lot, records.get(lot.pk))
        for lot in lots.order_by("received_at", "pk")
    ]


class Scales:
    """What runs were stated as, each by the corrections of its own instrument, and the bias on that scale."""

    def __init__(self, check: Check) -> None:
        self.check = check
        self._known: dict[int, Stated] = {}

    def portion(self, run: Run) -> PortionRead:
        """A run as the bench's rules see it."""
        stated = self._of(run.instrument_id).reading(float(run.a_w), run.read_at, run.method_version.method_id)
        here = run.instrument_id == self.check.instrument_id
        return PortionRead(stated.a_w, stated.read_at, stated.method, stated.scale, here)

    def points(self, portions: Iterable[PortionRead]) -> tuple[BiasPoint, ...]:
        """The references on the scale that a result was stated on; none where that is the failed check's own."""
        here = [portion for portion in portions if portion.here]
        if all(portion.scale == scale_of_check(self.check) for portion in here):
            return ()
        last = max(here, key=lambda portion: portion.read_at)
        return tuple(bias_points_on(self.check, self._of(self.check.instrument_id).line(last.read_at)))

    def _of(self, instrument: int) -> Stated:
        if instrument not in self._known:
            self._known[instrument] = Stated(instrument)
        return self._known[instrument]


class Counted:
    """Whether a run counted at a moment: a void or a correction that came later does not change what was given.

    The corrections are asked for by their cups: most runs correct nothing, and an index full of nothing leads SQLite
    astray once it has statistics.
    """

    def __init__(self, at: datetime, runs: Iterable[Run]) -> None:
        self.at = at
        cups = {run.portion_id for run in runs}
        found = Run.objects.filter(portion__in=cups, corrects__isnull=False, entered_at__lte=at)
        self._corrected = set(found.values_list("corrects", flat=True))

    def __call__(self, run: Run) -> bool:
        """Neither void nor corrected then."""
        return run.pk not in self._corrected and (run.voided_at is None or run.voided_at > self.at)


def _recorded(lot: Lot, read: list[Run], record: LotRecord | None, counted: Counted, scales: Scales) -> Found | None:
    """The result as the lot's record says it, where that record speaks of these runs."""
    if record is None or record.value is None or record.u is None:
        return None
    runs = [run for run in record.runs.all() if counted(run)]
    if not {run.pk for run in read} & {run.pk for run in runs}:
        return None
    return Found(_as_recorded(lot, record, runs, scales), lot, record)


def _as_recorded(lot: Lot, record: LotRecord, runs: list[Run], scales: Scales) -> ResultGiven:
    portions = tuple(scales.portion(run) for run in runs)
    return ResultGiven(
        lot=lot.code,
        value=Decimal(repr(record.value)),
        u=record.u or math.nan,
        specification=specification_of(lot.specification),
        portions=portions,
        verdict_before=record.verdict,
        is_median=_is_median(record.value, portions),
        key=lot.pk,
        points=scales.points(portions),
    )


class NotJudged:
    """Results of lots that nobody judged yet: the mean of what was read, with its method's uncertainty."""

    def __init__(self, scales: Scales) -> None:
        self._scales = scales
        self._budgets: dict[tuple[int, int], float] = {}

    def as_read(self, lot: Lot, read: list[Run], record: LotRecord | None) -> ResultGiven:
        """The result of a lot's runs."""
        portions = tuple(self._scales.portion(run) for run in read)
        return ResultGiven(
            lot=lot.code,
            value=round(Decimal(repr(_mean(portions))), 6),
            u=self._u(read[-1].method_version, len(read)),
            specification=specification_of(lot.specification),
            portions=portions,
            verdict_before=record.verdict if record else None,
            key=lot.pk,
            points=self._scales.points(portions),
        )

    def _u(self, method: MethodVersion, n: int) -> float:
        key = (method.pk, n)
        if key not in self._budgets:
            self._budgets[key] = budget_of(method, n).u
        return self._budgets[key]


def _records(lots: Iterable[int], at: datetime) -> dict[int, LotRecord]:
    """The record that spoke for each lot at a moment."""
    found = LotRecord.objects.filter(lot__in=lots, issued_at__lte=at).order_by("pk")
    return {record.lot_id: record for record in found.prefetch_related("runs__method_version")}


def _is_median(value: float | None, portions: Sequence[PortionRead]) -> bool:
    """A record does not keep its route; a value that is not the mean of its runs is a median or the worst of them."""
    return value is not None and abs(value - _mean(portions)) > 1e-9


def _mean(portions: Sequence[PortionRead]) -> float:
    return math.fsum(portion.a_w for portion in portions) / len(portions)


def specification_of(version: SpecificationVersion) -> Specification:
    """A specification version as the bench's rules judge by it."""
    limits: dict[str, Any] = {"upper" if limit.is_upper else "lower": limit for limit in limits_of(version)}
    return Specification(
        lower=limits.get("lower"),
        upper=limits.get("upper"),
        kind=version.kind,
        guard=Decimal(version.guard),
        allow_conditional=version.allow_conditional,
    )


def budget_of(method: MethodVersion, n: int) -> LotBudget:
    """The uncertainty of a mean of n portions by the method's budget, the starter budget where it has none."""
    budget = method.budget
    if budget is None:
        return starter_budget(STARTER_U, None, n, False, STARTER_SOURCE)
    s_r = Decimal(budget.s_r) if budget.s_r else None
    if budget.basis == "own data" and budget.u_other and s_r is not None:
        return own_data_budget(Decimal(budget.u_other), s_r, n, False, budget.source)
    s_reproducibility = Decimal(budget.s_reproducibility) if budget.s_reproducibility else STARTER_U
    return starter_budget(s_reproducibility, s_r, n, False, budget.source)
