"""Record a check on reference solutions as it was read: judged, kept, and answered by a deviation where it failed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import cached_property
from typing import Any

from isohume.bench.assurance import Check as Judged
from isohume.bench.assurance import judge_check, judge_corrected_check
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.adjustments.models import Correction
from isohume.outlets.site.adjustments.queries import changed_between, correction_in_force, line_of
from isohume.outlets.site.adjustments.sequence import against_repeating
from isohume.outlets.site.bench.moments import plant_day, shown_at
from isohume.outlets.site.charts.tasks import after_check
from isohume.outlets.site.checks.actions.typed_readings import TypedReading, read_readings
from isohume.outlets.site.checks.bottles import reasons_at
from isohume.outlets.site.checks.giving import WEIGHS, against_giving, settle
from isohume.outlets.site.checks.hints import another_reference
from isohume.outlets.site.checks.models import Check, CheckReading, Cleaning, StartSheet
from isohume.outlets.site.checks.queries import start_sheet_of_day
from isohume.outlets.site.ledger.actions import Action, By, Done, perform
from isohume.outlets.site.lots.actions.open_deviation import OpenDeviation
from isohume.outlets.site.people.competence import reasons_against
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH
from isohume.outlets.site.register.models import Instrument, MethodVersion, SolutionLot

KINDS = ("opening", "closing")
LONGEST_WHAT = 500


@dataclass
class RecordCheck(Action[Check]):
    """Readings are mappings with `bottle` (a Bottle), `temperature_c`, `a_w`, `read_at`, as typed; blank rows are none.

    Errors name a field with its row, counted from 1: a_w_2. Readings far off are kept, never refused.
    """

    name = "check_recorded"
    said = "Checked an instrument"
    roles = BENCH

    instrument: Instrument
    kind: str
    method_version: MethodVersion
    readings: Sequence[Mapping[str, Any]]
    note: str = ""
    _read: list[TypedReading] = field(default_factory=list, init=False, repr=False)
    _as_read: dict[str, Any] = field(default_factory=dict, init=False, repr=False)

    @property
    def site(self) -> Site:
        """The instrument's plant."""
        return self.instrument.site

    def refusals(self, by: By) -> Iterator[str]:
        """Instrument, method, person, start sheet and bottles must allow it; what was read never forbids it."""
        if self.kind not in KINDS:
            raise InputError("kind", self.kind, f"one of {', '.join(KINDS)}")
        self._read = read_readings(self.readings, self.site, by.at)
        if not self.instrument.in_use:
            why = self.instrument.out_of_use_reason
            yield f"{self.instrument.name} is out of use{f' ({why})' if why else ''}."
        method = self.method_version.method
        if method.site_id != self.instrument.site_id:
            yield "The method belongs to another plant."
        yield from reasons_against(by.person, method, plant_day(by.at, self.site))
        yield from self._against_start(by) if self.kind == "opening" else self._against_closing()
        yield from self._against_bottles()
        yield from self._against_scale()
        yield from against_repeating(self.instrument, [r.bottle for r in self._read], self._first)

    def _against_start(self, by: By) -> Iterator[str]:
        sheet = self._start_sheet(by)
        if sheet is None:
            yield (
                f"There is no start sheet of {self.instrument.name} for this day and method: "
                "fill it in before the opening check."
            )
        elif not sheet.may_start:
            yield f"The start sheet of {shown_at(sheet.at, self.site)} does not let {self.instrument.name} start."
            yield from sheet.reasons

    def _start_sheet(self, by: By) -> StartSheet | None:
        return start_sheet_of_day(self.instrument, self.method_version.method, self._first, by.at)

    def _against_closing(self) -> Iterator[str]:
        opened = Check.objects.filter(WEIGHS, instrument=self.instrument, kind="opening", last_read_at__lte=self._first)
        if not opened.exists():
            yield f"There is no opening check of {self.instrument.name} before these readings: they close nothing."

    def _against_scale(self) -> Iterator[str]:
        if (moved := changed_between(self.instrument, self._first, self._last)) is not None:
            at = shown_at(moved.at, self.site)
            yield f"{moved.words} at {at}, between these readings: read all of them after it."

    def _against_bottles(self) -> Iterator[str]:
        said: dict[str, None] = {}
        for reading in self._read:
            if reading.bottle.solution_lot.site_id != self.instrument.site_id:
                said["The bottle belongs to another plant."] = None
                continue
            said |= dict.fromkeys(reasons_at(reading.bottle, reading.read_at))
        yield from said

    def change(self, by: By) -> Done[Check]:
        """Judge it, keep it as found, and open a deviation where it failed."""
        note = read_words(self.note, "note", 300)
        judged = self._judged
        hints = [] if self._sound(judged) else another_reference(judged, self._known())
        check = self._create(by, judged, hints, note)
        CheckReading.objects.bulk_create(
            CheckReading(of_check=check, bottle=r.bottle, temperature_c=r.temperature_c, a_w=r.a_w, read_at=r.read_at)
            for r in self._read
        )
        settle(check)
        if not check.passed:
            self._open_deviation(check, by)
        after_check(check, by)
        bottles = [reading.bottle.ref for reading in self._read]
        lots = [reading.bottle.solution_lot.ref for reading in self._read]
        judged_with = [self._correction.ref] if self._correction else []
        about = [self.instrument.ref, *([check.cleaning.ref] if check.cleaning else []), *bottles, *lots, *judged_with]
        return Done(check, check.ref, about, self._details(check))

    def _create(self, by: By, judged: Judged, hints: list[str], note: str) -> Check:
        covers = judged.covers_a_w or (None, None)
        sound = self._sound(judged)
        return Check.objects.create(
            instrument=self.instrument,
            method_version=self.method_version,
            kind=self.kind,
            start_sheet=self._start_sheet(by) if self.kind == "opening" else None,
            cleaning=self._cleaning(),
            limit=self.instrument.check_limit,
            u_instrument=self.instrument.u_instrument,
            passed=sound,
            may_measure=sound and judged.covers_a_w is not None,
            covers_low=covers[0],
            covers_high=covers[1],
            first_read_at=self._first,
            last_read_at=self._last,
            until=self._first + timedelta(hours=float(self.method_version.check_interval_h)),
            result={**judged.as_json(), **self._as_read},
            hints=hints,
            note=note,
            entered_at=by.at,
            by=by.person,
        )

    @staticmethod
    def _sound(judged: Judged) -> bool:
        return judged.verdict == "pass" and judged.steady

    @cached_property
    def _judged(self) -> Judged:
        try:
            return self._judge()
        except InputError as error:
            if error.row is None:
                raise
            name = error.field if error.field in ("temperature_c", "a_w") else "bottle"
            raise InputError(f"{name}_{error.row}", error.value, error.allowed) from None

    def _judge(self) -> Judged:
        """As read; where a correction was in force both ways, and the corrected one decides."""
        readings = [r.as_reading() for r in self._read]
        limit, u_instrument = float(self.instrument.check_limit), float(self.instrument.u_instrument)
        if self._correction is None:
            return judge_check(readings, limit, u_instrument)
        both = judge_corrected_check(readings, line_of(self._correction), limit, u_instrument)
        self._as_read = {"correction": self._correction.ref, "as_read": both.as_read.as_json()}
        return both.corrected

    @cached_property
    def _correction(self) -> Correction | None:
        return correction_in_force(self.instrument, self._first)

    @property
    def _first(self) -> datetime:
        return min(reading.read_at for reading in self._read)

    @property
    def _last(self) -> datetime:
        return max(reading.read_at for reading in self._read)

    def _cleaning(self) -> Cleaning | None:
        """The last cleaning since the check before this one."""
        before = Check.objects.filter(WEIGHS, instrument=self.instrument, last_read_at__lt=self._first)
        previous = before.order_by("-last_read_at").values_list("last_read_at", flat=True).first()
        cleanings = Cleaning.objects.filter(instrument=self.instrument, at__lte=self._first)
        if previous is not None:
            cleanings = cleanings.filter(at__gt=previous)
        return cleanings.order_by("-at", "-pk").first()

    def _known(self) -> list[tuple[str, float | None]]:
        """The laboratory's references that are not withdrawn."""
        lots = SolutionLot.objects.filter(site=self.site, withdrawn_reason="")
        found = lots.values_list("solution", "molality").distinct().order_by("solution", "molality")
        return [(solution, float(molality) if molality else None) for solution, molality in found]

    def _open_deviation(self, check: Check, by: By) -> None:
        said = " ".join([f"Check of {self.instrument.name} failed.", *check.result["reasons"], *check.hints])
        what = said if len(said) <= LONGEST_WHAT else f"{said[: LONGEST_WHAT - 3]}..."
        perform(OpenDeviation(self.site, "failed check", what, failed_check=check), by)

    def _details(self, check: Check) -> dict[str, Any]:
        against = against_giving(check)
        return {
            "instrument": self.instrument.name,
            "kind": self.kind,
            "method": str(self.method_version),
            "limit": check.limit,
            "u_instrument": check.u_instrument,
            "readings": [reading.details() for reading in self._read],
            "verdict": check.result["verdict"],
            "may_measure": "yes" if check.may_measure and not against else "no",
            "reasons": [*check.result["reasons"], *check.hints, *against],
            **({"correction": str(self._correction)} if self._correction else {}),
            **({"note": check.note} if check.note else {}),
        }
