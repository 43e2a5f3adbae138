"""From a lot description and its files to a judged lot: check, standing, runs, determination, budget, decision.

Nothing is stored here; the result holds everything the record says.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Literal

from isohume.bench.assurance.check import Check, CheckReading, judge_check
from isohume.bench.assurance.corrected_check import judge_corrected_check
from isohume.bench.assurance.correction import Correction
from isohume.bench.assurance.standing import Standing, bracket_limits, bracket_value, standing
from isohume.bench.decision.budget import LotBudget, own_data_budget, starter_budget
from isohume.bench.decision.determination import Determination, determine
from isohume.bench.decision.estimate import Estimates, rest_on_estimates
from isohume.bench.decision.specification import Specification
from isohume.bench.decision.strata import Strata
from isohume.bench.decision.unverified_budget import rest_on_source
from isohume.bench.decision.verdict import Decision, decide, undecided
from isohume.bench.reading.check_file import read_check_file
from isohume.bench.reading.runs import read_runs
from isohume.bench.reading.usable import Judged, ReadingRules, judge_runs
from isohume.bench.record.lot_correction import corrected_runs, may_hold, with_correction
from isohume.bench.record.lot_description import CheckFile, LotDescription
from isohume.bench.record.lot_estimates import estimates_of, no_zone_left, refused_estimates, with_estimates
from isohume.bench.record.lot_strata import rest_on_strata, strata_of_lot
from isohume.bench.record.remarks import remarks_on
from isohume.foundation.quantity.errors import InputError

Undecided = Literal["more portions needed", "no verdict"]


@dataclass(frozen=True, slots=True)
class JudgedLot:
    """Everything found about a lot, before it is frozen."""

    description: LotDescription
    check: Check
    closing: Check | None
    standing: Standing
    runs: tuple[Judged, ...]
    determination: Determination | None
    budget: LotBudget | None
    decision: Decision
    notes: tuple[str, ...]
    strata: Strata | None = None
    check_as_read: Check | None = None
    closing_as_read: Check | None = None
    estimates: Estimates | None = None


def judge_lot(lot: LotDescription, now: datetime) -> JudgedLot:
    """Judge a lot from its files.

    lot: the lot description [text].
    now: the moment of judging, against which the future is refused [time].
    Returns: the JudgedLot [text]; a lot that may not be judged has verdict "no verdict" and its reasons.
    Raises: InputError for bad input in any of the files, and for readings before the check.
    Source: ILACG8, 4.2; ISO5725-6, 5.2.
    """
    notes = list(lot.notes)
    check, check_as_read = _judge_both(lot.check, lot.correction, now, notes)
    closing, closing_as_read = None, None
    if lot.closing_check is not None:
        closing, closing_as_read = _judge_both(lot.closing_check, lot.correction, now, notes)
    stand = standing(check, closing, lot.method.check_interval_h)
    runs = _judged_runs(lot, now, notes)
    _refuse_before_check(runs, stand, lot)
    _refuse_impossible_dates(runs, lot, now)
    estimates = estimates_of(lot, runs)
    strata = strata_of_lot(lot, runs, estimates)
    determination = strata.determination if strata and strata.determination else _determination(lot, runs)
    has_value = determination is not None and determination.value is not None
    budget = _budget(lot, determination, runs, strata, estimates) if determination and has_value else None
    decision, budget = _decision(lot, check, stand, runs, determination, budget, estimates)
    decision, strata = rest_on_strata(decision, budget, strata, lot)
    decision = rest_on_source(decision, lot.uncertainty.source)
    decision = rest_on_estimates(decision, estimates)
    rest = (tuple(notes), strata, check_as_read, closing_as_read, estimates)
    return JudgedLot(lot, check, closing, stand, runs, determination, budget, decision, *rest)


def _judged_runs(lot: LotDescription, now: datetime, notes: list[str]) -> tuple[Judged, ...]:
    try:
        judged = judge_runs(read_runs(lot.readings.path, now, lot.readings.columns, notes), _rules(lot))
        return corrected_runs(judged, lot.correction)
    except InputError as error:
        raise error.at(file=error.file or lot.readings.path.name) from None


def _judge_both(
    file: CheckFile, correction: Correction | None, now: datetime, notes: list[str]
) -> tuple[Check, Check | None]:
    """A check as it decides, and as it was read where a correction was in force."""
    if correction is None:
        return judge_check_file(file, now, notes), None
    try:
        readings = list(_check_readings(file, now, notes))
        both = judge_corrected_check(readings, correction, file.limit, file.u_instrument)
    except InputError as error:
        raise error.at(file=error.file or file.table.path.name) from None
    return both.corrected, both.as_read


def judge_check_file(check: CheckFile, now: datetime, notes: list[str] | None = None) -> Check:
    """Judge a check's file.

    check: the file with the laboratory's limit and the instrument's uncertainty [text].
    now: the moment of judging, against which the future is refused [time].
    notes: collects remarks such as a decimal comma read as a point [text].
    Returns: the Check [text].
    Raises: InputError naming file, row, field, value and what is allowed.
    Source: ISO13528, 9.7.
    """
    try:
        return judge_check(_check_readings(check, now, notes), check.limit, check.u_instrument)
    except InputError as error:
        raise error.at(file=error.file or check.table.path.name) from None


def _check_readings(check: CheckFile, now: datetime, notes: list[str] | None) -> Iterator[CheckReading]:
    instrument = check.instrument
    for r in read_check_file(check.table.path, now, check.table.columns, notes):
        instrument = instrument or r.instrument
        if r.instrument and r.instrument != instrument:
            raise InputError("instrument", r.instrument, f"{instrument}: one check is of one instrument", row=r.row)
        molality = None if r.molality is None else float(r.molality)
        yield CheckReading(r.solution, molality, float(r.temperature_c), float(r.a_w), r.read_at, r.lot, r.row)


def _rules(lot: LotDescription) -> ReadingRules:
    mismatch = lot.method.mismatch_limit_c
    return ReadingRules(
        component=lot.specification.component,
        expected_a_w=float(lot.specification.expected_a_w),
        measures_surface_temperature=lot.instrument.measures_surface_temperature,
        block_temperature_c=float(lot.method.temperature_c),
        block_tolerance_k=float(lot.method.temperature_tolerance_c),
        mismatch_limit_k=None if mismatch is None else float(mismatch),
        components=lot.specification.components,
        instrument=lot.instrument.id,
    )


def _refuse_before_check(runs: tuple[Judged, ...], stand: Standing, lot: LotDescription) -> None:
    for judged in runs:
        # a void run decides nothing: it may stem from before, and stays in the record
        if judged.use != "void" and judged.run.read_at < stand.since:
            raise InputError(
                "read_at",
                judged.run.read_at.isoformat(),
                f"a moment after the check that protects it ({stand.since.isoformat()})",
                row=judged.run.row,
                file=lot.readings.path.name,
            )


def _refuse_impossible_dates(runs: tuple[Judged, ...], lot: LotDescription, now: datetime) -> None:
    first = min(judged.run.read_at for judged in runs)
    if lot.received_at is not None and lot.received_at > first:
        raise InputError(
            "lot.received_at",
            lot.received_at.isoformat(),
            f"a moment before the first reading ({first.isoformat()})",
            file=lot.file.name,
        )
    # A production date has no hour or zone: it lies after a reading only where it was nowhere that day yet.
    latest = (min(first, now) + timedelta(hours=14)).date().isoformat()
    if lot.produced_on and lot.produced_on[:10] > latest:
        allowed = "a date that is not in the future and not after the first reading"
        raise InputError("lot.produced_on", lot.produced_on, allowed, file=lot.file.name)


def _replicates(runs: tuple[Judged, ...]) -> tuple[Judged, ...]:
    return tuple(judged for judged in runs if judged.use == "replicate")


def _determination(lot: LotDescription, runs: tuple[Judged, ...]) -> Determination | None:
    portions = [judged.a_w for judged in _replicates(runs)]
    if not portions:
        return None
    if lot.uncertainty.s_r is not None:
        return determine(portions, lot.uncertainty.s_r)
    return _worst_portion(lot, portions)


def _worst_portion(lot: LotDescription, portions: list[Decimal]) -> Determination:
    """Without a known repeatability portions cannot be judged against each other: the worst one speaks."""
    worst = _most_beyond(lot.specification.rule, portions)
    n = len(portions)
    reasons = (
        () if n == 1 else ("s_r is not known: portions cannot be judged against each other, the worst one decides.",)
    )
    route = "single portion" if n == 1 else f"worst of {n}"
    return Determination(worst, n, route, False, max(portions) - min(portions), None, None, reasons)


def _most_beyond(rule: Specification, portions: list[Decimal]) -> Decimal:
    """The portion nearest to, or furthest beyond, a limit."""

    def beyond(portion: Decimal) -> Decimal:
        return max(portion - limit.value if limit.is_upper else limit.value - portion for limit in rule.limits)

    return max(portions, key=beyond)


def _budget(
    lot: LotDescription,
    determination: Determination,
    runs: tuple[Judged, ...],
    strata: Strata | None,
    estimates: Estimates | None,
) -> LotBudget | None:
    known = lot.uncertainty
    if known.basis == "instrument specification" or known.u_other is None:
        return None
    n, is_median = determination.n, determination.is_median
    if known.basis == "own data" and known.s_r is not None:
        budget = own_data_budget(known.u_other, known.s_r, n, is_median, known.source)
    else:
        budget = starter_budget(known.u_other, known.s_r, n, is_median, known.source)
    replicates = _replicates(runs)
    mismatch = max((j.warm.u_mismatch for j in replicates if j.warm), default=0.0)
    budget = budget.plus(
        "sample warmer or colder than the block", mismatch, "largest mismatch of the portions, share not seen / sqrt(3)"
    )
    estimated = with_estimates(budget, estimates)
    if estimated is None:
        return None
    budget = with_correction(estimated, lot.correction, determination.value)
    if known.s_position is not None and _every_position_named(runs):
        # the worst position is one place: its neighbours may differ from it as positions do
        one = strata is not None and strata.decides == "worst position"
        positions = 1 if one else len({j.run.position.casefold() for j in replicates})
        u = float(known.s_position) / positions**0.5
        how = f"s_position / sqrt({positions}), s_position = {known.s_position}"
        budget = budget.plus("sampling, between positions", u, how)
    return budget


def _every_position_named(runs: tuple[Judged, ...]) -> bool:
    return all(j.run.position for j in _replicates(runs))


def _decision(
    lot: LotDescription,
    check: Check,
    stand: Standing,
    runs: tuple[Judged, ...],
    found: Determination | None,
    budget: LotBudget | None,
    estimates: Estimates | None,
) -> tuple[Decision, LotBudget | None]:
    refusal = _refusal(stand, runs, found, lot, estimates)
    if refusal is not None:
        return _without(lot, found, budget, *refusal), budget
    if found is None or found.value is None or budget is None or stand.covers_a_w is None:
        raise AssertionError("a lot without determination, budget or range was not refused")
    rule = lot.specification.rule
    beyond = bracket_value(found.value, check, stand.covers_a_w, rule.limits)
    widened = budget.plus(
        "reading beyond the outermost reference", beyond.u_widening, "the check line beyond its outermost reference"
    )
    about_limit = bracket_limits(stand.covers_a_w, rule.limits, rule.guard * Decimal(repr(widened.u)))
    if not (about_limit.bracketed and beyond.bracketed):
        reasons = about_limit.reasons + (() if beyond.bracketed else beyond.reasons)
        return _without(lot, found, widened, "no verdict", reasons), widened
    if too_wide := no_zone_left(rule, widened.u, estimates):
        return _without(lot, found, widened, "no verdict", too_wide), widened
    decision = decide(
        found.value,
        widened.u,
        rule,
        n=found.n,
        route=found.route,
        portions=_portions_that_may_hold(runs, lot.correction),
        sampling_included=lot.uncertainty.s_position is not None and _every_position_named(runs),
        reasons=(*found.reasons, *beyond.reasons, *remarks_on(lot, stand, runs)),
    )
    return decision, widened


def _portions_that_may_hold(runs: tuple[Judged, ...], correction: Correction | None) -> tuple[Decimal, ...]:
    """Every reading, and refused ones whose portion was never read well: a guard must not make a wet portion vanish."""
    read_well = {j.run.portion.casefold() for j in runs if j.use == "replicate"}
    return tuple(
        may_hold(j, correction)
        for j in runs
        if j.use in ("replicate", "re-read") or (j.use == "refused" and j.run.portion.casefold() not in read_well)
    )


def _without(
    lot: LotDescription,
    found: Determination | None,
    budget: LotBudget | None,
    verdict: Undecided,
    reasons: tuple[str, ...],
) -> Decision:
    """No statement of conformity, with whatever was found all the same."""
    has_value = found is not None and found.value is not None
    return undecided(
        lot.specification.rule,
        verdict,
        reasons,
        value=found.value if found else None,
        u=budget.u if budget else None,
        n=found.n if found else None,
        route=found.route if found and has_value else None,
    )


def _refusal(
    stand: Standing,
    runs: tuple[Judged, ...],
    determination: Determination | None,
    lot: LotDescription,
    estimates: Estimates | None,
) -> tuple[Undecided, tuple[str, ...]] | None:
    if not stand.may_measure:
        return "no verdict", (f"{lot.instrument.id} may not measure.", *stand.reasons)
    late = [j for j in _replicates(runs) if not stand.covers_time(j.run.read_at)]
    if late:
        run = late[0].run
        return "no verdict", (
            f"Run {run.run} was read at {run.read_at.isoformat(timespec='minutes')}, after the standing of "
            f"{lot.instrument.id} ended ({stand.until.isoformat(timespec='minutes')}): check first.",
        )
    if determination is None:
        refused = tuple(reason for j in runs for reason in j.reasons)
        return "no verdict", ("No usable portion.", *refused)
    if determination.value is None:
        return "more portions needed", determination.reasons
    if lot.uncertainty.basis == "instrument specification":
        return "no verdict", (
            "An instrument specification alone gives no verdict: use own data or a collaborative study.",
        )
    reasons = refused_estimates(estimates)
    return ("no verdict", reasons) if reasons else None
