"""A lot description: what was measured, against which specification, on which instrument, with which budget."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from typing import Literal

from isohume.bench.assurance.check import DEFAULT_LIMIT, DEFAULT_U_INSTRUMENT
from isohume.bench.assurance.correction import Correction
from isohume.bench.assurance.standing import DEFAULT_CHECK_INTERVAL_H
from isohume.bench.decision.specification import Specification
from isohume.bench.reading.companions import Companion

BudgetBasis = Literal["own data", "collaborative study", "instrument specification"]

STARTER_U = Decimal("0.009")
"""Reproducibility of published collaborative studies of a_w, s_R 0.008 to 0.010: the budget of the first day."""
STARTER_SOURCE = "published reproducibility of collaborative studies, s_R 0.008 to 0.010 (starter budget)"


@dataclass(frozen=True, slots=True)
class TableFile:
    """A file of readings and how its columns are called."""

    path: Path
    columns: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class CheckFile:
    """A check's file with the laboratory's limit and the instrument's uncertainty."""

    table: TableFile
    limit: float = DEFAULT_LIMIT
    u_instrument: float = DEFAULT_U_INSTRUMENT
    instrument: str = ""


@dataclass(frozen=True, slots=True)
class Method:
    """The method's version, what it asks of temperatures and times, and what validates a value taken too early."""

    name: str
    version: str
    temperature_c: Decimal
    temperature_tolerance_c: Decimal = Decimal("0.5")
    mismatch_limit_c: Decimal | None = None
    check_interval_h: float = DEFAULT_CHECK_INTERVAL_H
    estimates_validated: str = ""


@dataclass(frozen=True, slots=True)
class Instrument:
    """The instrument as registered."""

    id: str
    serial: str
    principle: str
    measures_surface_temperature: bool


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """The budget: on which basis it stands, and what it holds."""

    basis: BudgetBasis
    u_other: Decimal | None
    s_r: Decimal | None
    s_position: Decimal | None
    source: str


@dataclass(frozen=True, slots=True)
class ProductSpecification:
    """A version of a product's specification: limits, kind, temperature, component and where the limit comes from."""

    product: str
    version: str
    component: str
    temperature_c: Decimal
    rule: Specification
    source: str
    expected_a_w: Decimal
    components: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LotDescription:
    """Everything a lot file says, read and checked."""

    lot: str
    description: str
    produced_on: str
    received_at: datetime | None
    site: str
    laboratory: str
    address: str
    customer: str
    analyst: str
    method: Method
    specification: ProductSpecification
    instrument: Instrument
    check: CheckFile
    closing_check: CheckFile | None
    readings: TableFile
    uncertainty: Uncertainty
    companions: tuple[Companion, ...]
    amendment_reason: str
    file: Path
    notes: tuple[str, ...] = ()
    correction: Correction | None = None

    @property
    def files(self) -> tuple[tuple[str, Path], ...]:
        """Every input file with its role, the lot file first."""
        closing = (("closing check", self.closing_check.table.path),) if self.closing_check else ()
        return (
            ("lot", self.file),
            ("check", self.check.table.path),
            *closing,
            ("readings", self.readings.path),
        )
