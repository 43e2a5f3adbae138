"""What use may be made of a run: replicate, re-read, void, other component or refused, and why.

A second read of one cup is a re-read, not a replicate; a void run stays in the list with its cause; nothing is left
out and nothing is chosen by its value.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Literal

from isohume.bench.reading.runs import ESTIMATE, SETTLED, Run
from isohume.bench.reading.warm_sample import WarmSample, judge_warm_sample
from isohume.foundation.quantity.errors import InputError

Use = Literal["replicate", "re-read", "void", "other component", "refused"]
NO_TEMPERATURE = "The sample's temperature was not given: the warm-sample guard could not judge this reading."


@dataclass(frozen=True, slots=True)
class Judged:
    """A run with the use that may be made of it and why; `corrected` is what a correction in force makes of it."""

    run: Run
    use: Use
    warm: WarmSample | None = None
    reasons: tuple[str, ...] = field(default=())
    corrected: Decimal | None = None

    @property
    def a_w(self) -> Decimal:
        """What the run says: as read, or corrected where a correction was in force."""
        return self.run.a_w if self.corrected is None else self.corrected

    def as_json(self) -> dict[str, object]:
        """The run as the record keeps it: numbers as typed."""
        run = self.run
        return {
            "row": run.row,
            "run": run.run,
            "portion": run.portion,
            "position": run.position,
            "component": run.component,
            "a_w": str(run.a_w),
            **({} if self.corrected is None else {"corrected_a_w": str(self.corrected)}),
            "read_at": run.read_at.isoformat(),
            "sample_temperature_c": None if run.sample_temperature_c is None else str(run.sample_temperature_c),
            "block_temperature_c": None if run.block_temperature_c is None else str(run.block_temperature_c),
            "void_reason": run.void_reason,
            "override_reason": run.override_reason,
            # a record of runs that nobody can tell it of is byte for byte what it always was
            **({"stopped": run.stopped} if run.stopped else {}),
            **({} if run.u_estimate is None else {"u_estimate": f"{run.u_estimate:f}"}),
            "use": self.use,
            "reasons": list(self.reasons),
        }


@dataclass(frozen=True, slots=True)
class ReadingRules:
    """What the method, the instrument and the product say about a usable reading.

    `components` are the product's own components; a reading of one that is not among them is a slip of the pen.
    """

    component: str
    expected_a_w: float
    measures_surface_temperature: bool
    block_temperature_c: float
    block_tolerance_k: float
    mismatch_limit_k: float | None = None
    components: tuple[str, ...] = ()
    instrument: str = ""


def judge_runs(runs: Iterable[Run], rules: ReadingRules) -> list[Judged]:
    """The use that may be made of every run, in time order; nothing is left out.

    runs: the runs of one lot [text].
    rules: what method, instrument and product say about a usable reading [text].
    Returns: one Judged a run [text]: replicate, re-read, void, other component or refused, with reasons.
    Raises: InputError for a component the product does not have, none where it has several, or another instrument
        (a void run may stand on another one, and says so).
    Source: ISO5725-6 (a replicate is a new portion).
    """
    judged: list[Judged] = []
    runs = list(runs)
    several = {run.component.casefold(): run.component for run in runs if run.component}
    if not rules.component and len(several) > 1:
        raise InputError(
            "component", ", ".join(several.values()), "one component, or a specification that names its own"
        )
    for run in sorted(runs, key=lambda run: (run.read_at, run.row)):
        try:
            judged.append(_judge(run, rules))
        except InputError as error:
            raise error.at(row=run.row) from None
    return _one_a_cup(judged)


def _one_a_cup(judged: list[Judged]) -> list[Judged]:
    """Of the readings of a cup one is its replicate; the others stay in the list, and may still hold the lot."""
    cups: dict[str, list[int]] = {}
    for place, one in enumerate(judged):
        if one.use == "replicate":
            cups.setdefault(one.run.portion.casefold(), []).append(place)
    out = list(judged)
    for places in cups.values():
        first = judged[places[0]].run
        taken = _taken([judged[place].run for place in places])
        for place in places:
            run, reasons = judged[place].run, judged[place].reasons
            if run is not taken:
                out[place] = replace(judged[place], use="re-read", reasons=(*reasons, _why_not(run, first, taken)))
    return out


def _taken(reads: list[Run]) -> Run:
    """The reading of a cup that counts: the first, but nothing that is not known to have settled hides an estimate.

    Where nobody can tell how a reading ended, it may be the estimate's own number, typed.
    """
    early = next((run for run in reads if run.is_estimate), None)
    if early is None:
        return reads[0]
    return next((run for run in reads if run.stopped == SETTLED), early)


def _why_not(run: Run, first: Run, taken: Run) -> str:
    """Why a reading of a cup is not its replicate."""
    if run is first and taken.stopped == SETTLED:
        return f"Run {taken.run} of the same portion settled and takes its place."
    if run is first:
        return (
            f"Nobody can tell whether it had settled, and run {taken.run} of the same portion is a {ESTIMATE}: "
            "only a reading that is known to have settled stands in its place."
        )
    before = taken if taken.read_at <= run.read_at else first
    return f"Portion {run.portion} was read before (run {before.run}): a re-read is not a replicate."


def _judge(run: Run, rules: ReadingRules) -> Judged:
    """What a reading is by itself."""
    elsewhere = bool(run.instrument and rules.instrument and run.instrument != rules.instrument)
    if elsewhere and not run.void_reason:
        raise InputError("instrument", run.instrument, f"{rules.instrument}, the instrument of the lot file")
    other = _other_component(run, rules)
    if run.void_reason:
        void = f"Void: {run.void_reason.rstrip('.')}."
        return Judged(run, "void", reasons=(void, f"Read on {run.instrument}.") if elsewhere else (void,))
    if other:
        why = f"The specification speaks of {rules.component!r}, not {run.component!r}."
        return Judged(run, "other component", reasons=(why,))
    if off := _block_off(run, rules):
        return Judged(run, "refused", reasons=(off,))
    warm = _warm(run, rules)
    if warm is not None and not warm.may_read:
        return Judged(run, "refused", warm, warm.reasons)
    reasons = (*_stopped(run), *(warm.reasons if warm else (NO_TEMPERATURE,)))
    return Judged(run, "replicate", warm, reasons)


def _stopped(run: Run) -> tuple[str, ...]:
    """What is said of a value that was taken too early; its uncertainty is its own."""
    if not run.is_estimate:
        return ()
    u = "its uncertainty is not known" if run.u_estimate is None else f"u {run.u_estimate:f}"
    return (f"Stopped before the method's criterion was met: a {ESTIMATE}, {u}.",)


def _other_component(run: Run, rules: ReadingRules) -> bool:
    """Whether the run is of another component; a name the product does not know is refused, not kept apart."""
    if not rules.component:
        return False
    known = {name.casefold(): name for name in (rules.component, *rules.components)}
    if not run.component:
        if len(known) > 1:
            raise InputError("component", "", f"which of {', '.join(known.values())} was read")
        return False
    if run.component.casefold() not in known:
        near = difflib.get_close_matches(run.component.casefold(), known, 1)
        hint = f"; did you mean {known[near[0]]!r}?" if near else ""
        raise InputError(
            "component",
            run.component,
            f"{', '.join(known.values())} (other components of the product are named in product.components){hint}",
        )
    return run.component.casefold() != rules.component.casefold()


def _block_off(run: Run, rules: ReadingRules) -> str:
    if run.block_temperature_c is None:
        return ""
    off = float(run.block_temperature_c) - rules.block_temperature_c
    if abs(off) <= rules.block_tolerance_k + 1e-9:
        return ""
    return (
        f"Block at {run.block_temperature_c} degC, outside the method's {rules.block_temperature_c:g} "
        f"+- {rules.block_tolerance_k:g} degC."
    )


def _warm(run: Run, rules: ReadingRules) -> WarmSample | None:
    """The guard once more with the reading known: what was read wetter than expected is judged as what it is."""
    if run.sample_temperature_c is None:
        return None
    block = float(run.block_temperature_c) if run.block_temperature_c is not None else rules.block_temperature_c
    return judge_warm_sample(
        float(run.sample_temperature_c),
        block,
        max(rules.expected_a_w, float(run.a_w)),
        rules.measures_surface_temperature,
        rules.mismatch_limit_k,
        run.override_reason,
    )
