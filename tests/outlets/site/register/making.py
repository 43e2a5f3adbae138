"""Makes checks for the register's pages, judged by the bench's own rule, without the forms of a check."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta

from isohume.bench.assurance.check import CheckReading as Read
from isohume.bench.assurance.check import judge_check
from isohume.foundation.solutions import reference_value
from isohume.outlets.site.checks.models import Check, CheckReading
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.register.models import Bottle, Instrument, MethodVersion


def make_check(
    instrument: Instrument,
    version: MethodVersion,
    person: Person,
    off: Mapping[Bottle, float],
    at: datetime,
    kind: str = "opening",
) -> Check:
    """A check at 25 degC in which each bottle reads so far off its value."""
    read = [(bottle, _expected(bottle) + far) for bottle, far in off.items()]
    judged = judge_check(
        [
            Read(b.solution_lot.solution, _molality(b), 25.0, round(a_w, 4), at, lot=f"{b.solution_lot.code} {b.code}")
            for b, a_w in read
        ],
        float(instrument.check_limit),
        float(instrument.u_instrument),
    )
    low, high = judged.covers_a_w or (None, None)
    passed = judged.verdict == "pass"
    check = Check.objects.create(
        instrument=instrument,
        method_version=version,
        kind=kind,
        limit=instrument.check_limit,
        u_instrument=instrument.u_instrument,
        passed=passed,
        may_measure=passed and low is not None,
        covers_low=low,
        covers_high=high,
        first_read_at=at,
        last_read_at=at,
        until=at + timedelta(hours=24),
        result=judged.as_json(),
        entered_at=at,
        by=person,
    )
    CheckReading.objects.bulk_create(
        CheckReading(of_check=check, bottle=bottle, temperature_c="25.0", a_w=f"{a_w:.4f}", read_at=at)
        for bottle, a_w in read
    )
    return check


def _molality(bottle: Bottle) -> float | None:
    return float(bottle.solution_lot.molality) if bottle.solution_lot.molality else None


def _expected(bottle: Bottle) -> float:
    return reference_value(bottle.solution_lot.solution, 25.0, _molality(bottle)).a_w
