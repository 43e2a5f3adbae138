"""Readings for the line: drier or wetter, from an instrument that may speak, and never of a lot."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.outlets.site import make
from tests.outlets.site.bench.shift import Shift, make_shift

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.actions.read_in_process import ReadInProcess
from isohume.outlets.site.bench.models import InProcessReading, Lot, Run
from isohume.outlets.site.ledger.actions import Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.models import LotRecord


@pytest.fixture
def shift(site_db: Path) -> Shift:
    return make_shift()


def read(shift: Shift, a_w: str, **more: object) -> InProcessReading:
    given = {"where": "cooling tunnel, end", "target_low": "0.620", "target_high": "0.645", **more}
    return perform(ReadInProcess(shift.bench.product, shift.bench.instrument, a_w=a_w, **given), shift.by())


@pytest.mark.parametrize(
    # u of one portion: sqrt(0.0032^2 + 0.0020^2) = 0.00377, so 2u = 0.0075
    ("a_w", "advice"), [("0.660", "wetter"), ("0.605", "drier"), ("0.632", "as it should be"), ("0.650", "cannot tell")]
)  # fmt: skip
def test_the_advice_to_the_line(shift: Shift, a_w: str, advice: str) -> None:
    reading = read(shift, a_w)
    assert reading.advice == advice
    assert reading.reasons[-1].startswith("This reading belongs to no lot")
    line = trail_of(reading.ref)[-1]
    assert (line.said, line.details["advice"]) == ("Read for the line", advice)
    assert not {field.related_model for field in InProcessReading._meta.fields} & {Lot, LotRecord, Run}


@pytest.mark.parametrize(
    ("field", "typed"),
    [("where", ""), ("a_w", "63.2"), ("target_low", "62"), ("target_low", "0.70"), ("read_at", "2026-09-17T08:00")],
)
def test_fields_that_are_refused(shift: Shift, field: str, typed: str) -> None:
    given = {"a_w": "0.632", field: typed}
    with pytest.raises(InputError) as caught:
        read(shift, **given)
    assert caught.value.field == field


def test_a_target_is_needed(shift: Shift) -> None:
    with pytest.raises(InputError, match="a lower end, an upper end or both"):
        read(shift, "0.632", target_low="", target_high="")


def test_the_instrument_must_be_fit_to_speak_and_the_person_competent(shift: Shift) -> None:
    bare = make.make_instrument(shift.bench.site, "OW-2")
    with pytest.raises(Refused, match="check"):
        perform(ReadInProcess(shift.bench.product, bare, "line", "0.63", "0.6"), shift.by())
    other = make_shift("three-gate").bench.instrument
    with pytest.raises(Refused, match="another plant"):
        perform(ReadInProcess(shift.bench.product, other, "line", "0.63", "0.6"), shift.by())
    with pytest.raises(Refused, match="this is for"):
        perform(ReadInProcess(shift.bench.product, bare, "line", "0.63", "0.6"), shift.by(shift.bench.officer))
    shift.analyst.competences.all().delete()
    with pytest.raises(Refused, match="no competence"):
        read(shift, "0.632")
