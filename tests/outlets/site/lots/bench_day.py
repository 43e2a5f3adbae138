"""A bench with people, one checked instrument and a lot, for tests of judging and signing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from tests.outlets.site import make

from isohume.bench.assurance.check import CheckReading, judge_check
from isohume.outlets.site.bench.models import Lot, Portion, Run, Sample, SecondKeying
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.models import CheckReading as Row
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.lots.actions.judge_lot import JudgeLot
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.people.proof import Proof, prove_by_password
from isohume.outlets.site.people.roles import ANALYST, AUDITOR, MANAGER, RELEASE_OFFICER
from isohume.outlets.site.register.models import Instrument, MethodVersion, Product

NOW = make.NOW
OPENED = NOW - timedelta(hours=3)
GOOD = (("MgCl2", "0.3283"), ("NaCl", "0.7535"))  # near the saturated values at 25 degC, 0.328 and 0.753
OFF = (("MgCl2", "0.3283"), ("NaCl", "0.7735"))


@dataclass
class Bench:
    """Everything a lot hangs on."""

    site: Site
    method: MethodVersion
    instrument: Instrument
    product: Product
    analyst: Person
    manager: Person
    officer: Person
    officer_2: Person
    auditor: Person
    opening: Check


def make_bench(key: str = "harrow-lane", **specification: Any) -> Bench:
    """A plant with its people, a method, an instrument that passed its opening check, and a product."""
    site = make.make_site(key)
    method = make.make_method(site)
    people = [
        make.make_person(site, *roles, username=f"{name}{'' if key == 'harrow-lane' else '.' + key}")
        for name, roles in (
            ("analyst", (ANALYST,)),
            ("manager", (MANAGER,)),
            ("officer", (RELEASE_OFFICER,)),
            ("officer2", (RELEASE_OFFICER,)),
            ("auditor", (AUDITOR,)),
        )
    ]
    instrument = make.make_instrument(site)
    product = make.make_product(method, **specification)
    opening = make_check(instrument, method, people[0], OPENED)
    return Bench(site, method, instrument, product, *people, opening)


def make_check(
    instrument: Instrument,
    method: MethodVersion,
    person: Person,
    at: datetime,
    kind: str = "opening",
    read: tuple[tuple[str, str], ...] = GOOD,
) -> Check:
    """A check as the bench judged it, its readings as typed."""
    bottles = [
        make.make_bottle(instrument.site, solution, code=f"{instrument.name} {at:%m-%d %H:%M}") for solution, _ in read
    ]
    times = [at + timedelta(minutes=5 * i) for i in range(len(read))]
    readings = [
        CheckReading(solution, None, 25.0, float(a_w), time, "", i)
        for i, ((solution, a_w), time) in enumerate(zip(read, times, strict=True))
    ]
    judged = judge_check(readings, 0.005, 0.0015)
    passed = judged.verdict == "pass"
    check = Check.objects.create(
        instrument=instrument,
        method_version=method,
        kind=kind,
        limit="0.005",
        u_instrument="0.0015",
        passed=passed,
        may_measure=passed,
        covers_low=judged.covers_a_w[0] if judged.covers_a_w else None,
        covers_high=judged.covers_a_w[1] if judged.covers_a_w else None,
        first_read_at=times[0],
        last_read_at=times[-1],
        until=times[0] + timedelta(hours=24),
        result=judged.as_json(),
        entered_at=times[-1],
        by=person,
    )
    for bottle, (_, a_w), time in zip(bottles, read, times, strict=True):
        Row.objects.create(of_check=check, bottle=bottle, temperature_c="25.0", a_w=a_w, read_at=time)
    return check


def make_lot(bench: Bench, code: str = "SB-0916-01", *read: str, position: str = "line 1") -> Lot:
    """A lot with one sample, and one portion with one run for every number given."""
    lot = Lot.objects.create(
        site=bench.site,
        code=code,
        key=code.casefold(),
        product=bench.product,
        specification=bench.product.specification,
        received_at=NOW - timedelta(hours=4),
        entered_at=NOW - timedelta(hours=4),
        by=bench.analyst,
    )
    sample = Sample.objects.create(
        lot=lot,
        code="1",
        position=position,
        component="whole bar",
        sealed=True,
        received_at=lot.received_at,
        by=bench.analyst,
    )
    for number, a_w in enumerate(read):
        make_run(bench, make_portion(bench, sample, "ABCDEFGH"[number]), a_w, OPENED + timedelta(minutes=20 + number))
    return lot


def make_portion(bench: Bench, sample: Sample, code: str) -> Portion:
    """A cup of a sample."""
    at = NOW - timedelta(hours=3, minutes=30)
    return Portion.objects.create(
        sample=sample, code=code, cover="lidded", covered_at=at, prepared_at=at, by=bench.analyst
    )


def make_run(bench: Bench, portion: Portion, a_w: str, at: datetime, **more: Any) -> Run:
    """A typed run, at the method's temperature."""
    given = {
        "instrument": bench.instrument,
        "opening_check": bench.opening,
        "sample_temperature_c": "25.0",
        "block_temperature_c": "25.0",
        "by": bench.analyst,
        **more,
    }
    return Run.objects.create(
        portion=portion, method_version=bench.method, a_w=a_w, read_at=at, entered_at=at + timedelta(minutes=1), **given
    )


def key_again(bench: Bench, lot: Lot) -> None:
    """The manager keys every run a second time, alike."""
    for run in Run.objects.filter(portion__sample__lot=lot):
        SecondKeying.objects.create(run=run, a_w=run.a_w, agrees=True, words="agrees", at=NOW, by=bench.manager)


def judge(bench: Bench, lot: Lot, reason: str = "", at: datetime = NOW) -> LotRecord:
    """The analyst judges a lot."""
    return perform(JudgeLot(lot, reason), By(bench.analyst, at))


def proof_of(person: Person, at: datetime = NOW) -> Proof | None:
    """The person gives the password again."""
    return prove_by_password(person, make.PASSWORD, at)
