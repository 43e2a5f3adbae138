"""Which portion and which instrument a row of a file speaks of: found in the register, or refused; never guessed."""

from __future__ import annotations

from functools import cached_property

from isohume.bench.reading.tables import Row
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.models import Lot, Portion
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Instrument

SCAN = "iso:p:"


class Matching:
    """The register of one plant as the rows of one file need it; what is looked up once is kept."""

    def __init__(self, site: Site, lot: Lot | None = None, instrument: Instrument | None = None) -> None:
        self._site, self._lot, self._instrument = site, lot, instrument
        self._portions_of: dict[str, list[Portion]] = {}

    def instrument(self, row: Row) -> Instrument:
        """By name or serial number; an unknown one is refused."""
        typed = row.get("instrument")
        if not typed:
            if self._instrument is None:
                raise InputError("instrument", "nothing", "a column for the instrument, or one chosen for the file")
            return self._instrument
        found = self._instruments.get(typed.casefold())
        if found is None:
            known = ", ".join(sorted({instrument.name for instrument in self._instruments.values()})) or "none"
            raise InputError("instrument", typed, f"the name or serial number of one in the register: {known}")
        if self._instrument is not None and found.pk != self._instrument.pk:
            raise InputError("instrument", typed, f"{self._instrument}, the instrument chosen for the file")
        return found

    def portion(self, row: Row) -> Portion:
        """By scan code, or by lot, sample (or position) and cup."""
        typed = row.get("portion")
        if not typed:
            raise InputError("portion", "nothing", "the cup that was read")
        found = [one for one in self._portions(row) if self._is(one, row, typed)]
        if len(found) == 1:
            return found[0]
        if found:
            raise InputError("sample", "nothing", f"which sample: {len(found)} samples of the lot have a cup {typed}")
        where = " of ".join(filter(None, (row.get("sample") or row.get("position"), self._named_lot(row))))
        raise InputError("portion", typed, f"a cup that was prepared{f' from {where}' if where else ''}")

    @cached_property
    def _instruments(self) -> dict[str, Instrument]:
        known = list(Instrument.objects.filter(site=self._site))
        return {key.casefold(): one for one in known for key in (one.serial, one.name)}

    def _named_lot(self, row: Row) -> str:
        typed = row.get("lot")
        if self._lot is not None:
            if typed and typed.casefold() != self._lot.key:
                raise InputError("lot", typed, f"{self._lot.code}, the lot chosen for the file")
            return self._lot.code
        if not typed:
            raise InputError("lot", "nothing", "the lot's code")
        return typed

    def _portions(self, row: Row) -> list[Portion]:
        code = self._named_lot(row)
        if code.casefold() not in self._portions_of:
            if not Lot.objects.filter(site=self._site, key=code.casefold()).exists():
                raise InputError("lot", code, "the code of a lot that was received")
            related = "sample__lot__product__method", "sample__lot__specification", "sample__lot__site"
            portions = Portion.objects.filter(sample__lot__site=self._site, sample__lot__key=code.casefold())
            self._portions_of[code.casefold()] = list(portions.select_related(*related))
        return self._portions_of[code.casefold()]

    @staticmethod
    def _is(portion: Portion, row: Row, typed: str) -> bool:
        if typed.casefold().startswith(SCAN):
            return typed.casefold() == portion.scan_code
        sample = portion.sample
        asked = (
            (row.get("sample"), sample.code),
            (row.get("position"), sample.position),
            (row.get("component"), sample.component),
            (typed, portion.code),
        )
        return all(not wanted or wanted.casefold() == has.casefold() for wanted, has in asked)
