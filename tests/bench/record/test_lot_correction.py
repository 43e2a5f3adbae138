"""A lot judged with a correction in force: raw and corrected kept, u in the budget, nothing extrapolated."""

from __future__ import annotations

import hashlib
import json
import math
import re
import tomllib
from datetime import UTC, datetime
from decimal import Decimal
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from tests.bench.record.test_judge import FULL_CHECK, lot_file

from isohume.bench.record.canonical_form import canonical
from isohume.bench.record.certification import certify
from isohume.bench.record.judge import judge_lot
from isohume.bench.record.lot_correction import read_correction
from isohume.bench.record.lot_file import read_lot_file
from isohume.bench.record.toml_section import Section
from isohume.foundation.quantity import InputError

NOW = datetime(2026, 9, 15, 18, 0, tzinfo=UTC)
UNCHANGED = "bf0fff218add3a5d60d44d4847d0fc4275d844161a0cf3a8b0aa3f8fffd5e2cf"
SCHEMA = json.loads(files("isohume.bench.record").joinpath("schema/record-1.json").read_text(encoding="utf-8"))
# an instrument that reads 0.010 low everywhere, and the correction that says so
LOW_CHECK = "\n".join(
    ",".join([*row.split(",")[:3], f"{float(row.split(',')[3]) - 0.010:.4f}", row.split(",")[4]])
    for row in FULL_CHECK.splitlines()
)
GIVEN = {
    "id": '"OW-1"',
    "version": '"2"',
    "offset": "0.0100000",
    "slope": "1.0000000",
    "u_offset": "0.0030",
    "u_slope": "0.0050",
    "covariance": "-0.0000141",
    "lowest_read": "0.3185",
    "highest_read": "0.7435",
    "since": "2026-09-15T05:30:00Z",
    "source": '"check 12"',
}
MAXIMUM = "maximum = 0.650"


def section(**changed: str) -> str:
    """The section [correction] of a lot file."""
    return "[correction]\n" + "".join(f"{key} = {value}\n" for key, value in (GIVEN | changed).items() if value)


def judged(folder: Path, *portions: str, check: str = LOW_CHECK, **changed: str) -> Any:
    """A lot of those portions, read with that correction in force."""
    return judge_lot(
        read_lot_file(lot_file(folder, MAXIMUM, portions, check=check + "\n", more=section(**changed))), NOW
    )


def test_what_was_read_stays_and_what_it_stands_for_decides(tmp_path: Path) -> None:
    found = judged(tmp_path, "0.6310", "0.6326")
    assert [str(run.run.a_w) for run in found.runs] == ["0.6310", "0.6326"]
    assert [float(run.a_w) for run in found.runs] == [0.6410, 0.6426]
    assert float(found.decision.value) == pytest.approx(0.6418)  # the mean of two, 0.010 up
    assert (found.check.verdict, found.check_as_read.verdict) == ("pass", "fail")
    assert found.standing.may_measure


def test_the_corrections_u_is_a_component_of_the_budget(tmp_path: Path) -> None:
    """By hand at r = 0.6318: u^2 = 0.0030^2 + (0.6318 0.0050)^2 - 2 0.6318 0.0000141 (JCGM 100, 5.2.2)."""
    found = judged(tmp_path, "0.6310", "0.6326")
    by_hand = math.sqrt(0.0030**2 + (0.6318 * 0.0050) ** 2 - 2 * 0.6318 * 0.0000141)
    last = found.budget.components[-1]
    assert (last.name, last.u) == ("correction 2 of OW-1", pytest.approx(by_hand, rel=1e-9))
    assert found.decision.u == pytest.approx(math.sqrt(0.0032**2 + 0.002**2 / 2 + by_hand**2), rel=1e-9)


def test_without_it_the_failed_check_protects_nothing(tmp_path: Path) -> None:
    found = judge_lot(read_lot_file(lot_file(tmp_path, MAXIMUM, ("0.6310",), check=LOW_CHECK + "\n")), NOW)
    assert found.decision.verdict == "no verdict"


def test_a_reading_outside_the_range_is_refused_with_the_reason(tmp_path: Path) -> None:
    found = judged(tmp_path, "0.3100", "0.3110")
    assert [run.use for run in found.runs] == ["refused", "refused"]
    assert found.decision.verdict == "no verdict"
    assert any("not extrapolated" in reason for reason in found.decision.reasons)


def test_a_wet_reading_outside_the_range_still_holds_a_safety_lot(tmp_path: Path) -> None:
    path = lot_file(
        tmp_path, MAXIMUM, ("0.6010", "0.6020", "0.7800"), check=LOW_CHECK + "\n", kind="safety", more=section()
    )
    found = judge_lot(read_lot_file(path), NOW)
    assert [run.use for run in found.runs] == ["replicate", "replicate", "refused"]
    assert (found.decision.verdict, found.decision.disposition) == ("pass", "hold")


@pytest.mark.parametrize("wet", ["0.7450", "0.7410,26.9,25.0,,"], ids=["beyond the range", "refused as a warm sample"])
def test_a_wet_portion_that_reads_dry_does_not_vanish(tmp_path: Path, wet: str) -> None:
    """Limit 0.750: 0.745 lies beyond the references and stands for 0.7535 at least; 0.741, too warm, for 0.751."""
    tempered = ",25.0,25.0,,"
    portions = (f"0.6010{tempered}", f"0.6020{tempered}", wet)
    options = {"check": LOW_CHECK + "\n", "kind": "safety", "more": section(), "expected": "0.74", "surface": False}
    found = judge_lot(read_lot_file(lot_file(tmp_path, "maximum = 0.750", portions, **options)), NOW)
    assert [run.use for run in found.runs] == ["replicate", "replicate", "refused"]
    assert (found.decision.verdict, found.decision.disposition) == ("pass", "hold")


def test_the_corrected_portion_holds_a_safety_lot_and_not_the_raw_one(tmp_path: Path) -> None:
    """Read 0.6450, within the limit of 0.650: corrected 0.6550 lies beyond it."""
    own = '[uncertainty]\nbasis = "own data"\nu_other = 0.0032\ns_r = 0.0200\nsource = "own"\n'
    path = lot_file(
        tmp_path,
        MAXIMUM,
        ("0.6010", "0.6020", "0.6015", "0.6450"),
        check=LOW_CHECK + "\n",
        kind="safety",
        uncertainty=own,
        more=section(),
    )
    assert judge_lot(read_lot_file(path), NOW).decision.disposition == "hold"


def test_readings_and_checks_from_before_it_began_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"correction.since: .*says nothing of corrected readings"):
        judged(tmp_path, "0.6310", since="2026-09-15T07:00:00Z")
    with pytest.raises(InputError, match=r"correction.since"):
        judged(tmp_path, "0.6310", since="2026-09-15T08:30:00Z")


def test_a_correction_of_nothing_decides_as_without_one(tmp_path: Path) -> None:
    none = {"offset": "0", "slope": "1", "u_offset": "0", "u_slope": "0", "covariance": "0"}
    (tmp_path / "with").mkdir()
    (tmp_path / "without").mkdir()
    corrected = judged(
        tmp_path / "with", "0.6310", "0.6326", check=FULL_CHECK, lowest_read="0.32", highest_read="0.76", **none
    )
    plain = judge_lot(read_lot_file(lot_file(tmp_path / "without", MAXIMUM, ("0.6310", "0.6326"))), NOW)
    for name in ("value", "u", "verdict", "disposition", "probability_of_conformity"):
        assert getattr(corrected.decision, name) == getattr(plain.decision, name)


def test_the_record_keeps_both_and_fits_its_schema(tmp_path: Path) -> None:
    path = lot_file(tmp_path, MAXIMUM, ("0.6310", "0.6326"), check=LOW_CHECK + "\n", more=section())
    path.write_text(
        path.read_text(encoding="utf-8").replace('id = "OW-1"\nprinciple', 'id = "OW-1"\nserial = "417"\nprinciple')
    )
    record = certify(path, tmp_path / "data", NOW).record
    assert [list(error.path) for error in Draft202012Validator(SCHEMA).iter_errors(record)] == []
    assert [(r["a_w"], r["corrected_a_w"]) for r in record["readings"]] == [
        ("0.6310", "0.641"),
        ("0.6326", "0.6426"),
    ]
    assert (record["correction"]["version"], record["correction"]["offset"]) == ("2", "0.0100000")
    assert record["check"]["as_read"]["verdict"] == "fail"
    assert "corrected reading" in [how["figure"] for how in record["how"]]
    again = certify(path, tmp_path / "data", NOW)
    assert again.already_frozen


def test_a_record_without_one_is_byte_for_byte_what_it_was(tmp_path: Path) -> None:
    """The demonstration day of the command line: digests made before corrections existed (commit c0377cc)."""
    day = files("isohume.outlets.demo").joinpath("harrow_lane")
    for item in day.iterdir():
        (tmp_path / item.name).write_bytes(item.read_bytes())
    record = certify(tmp_path / "SB-0914-01.toml", tmp_path / "data", NOW).record
    record |= {"issued_at": "2026-09-15T18:00:00+00:00", "software": {"name": "isohume", "version": "0"}}
    assert hashlib.sha256(canonical(record)).hexdigest() == UNCHANGED


def test_the_example_of_the_reference_page_is_what_it_says() -> None:
    """docs/reference/lot-file.md prints plant A's Wednesday: 0.642 read stands for 0.653 (job, 8)."""
    page = Path(__file__).parents[3] / "docs" / "reference" / "lot-file.md"
    (example,) = re.findall(r"```toml\n(.*?)```", page.read_text(encoding="utf-8"), re.DOTALL)
    found = read_correction(Section("", tomllib.loads(example, parse_float=Decimal)))
    assert found is not None
    assert float(found.corrected(Decimal("0.642"))) == pytest.approx(0.653, abs=0.0005)
    assert 0 < found.u_line(0.642) < 0.0015


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"offset": "0.06"}, "correction.offset"),
        ({"slope": "1.2"}, "correction.slope"),
        ({"covariance": "-0.00002"}, "correction.covariance"),
        ({"u_slope": "0.2"}, "correction.u_slope"),
        ({"lowest_read": "0.80"}, "correction.lowest_read"),
        ({"version": ""}, "correction.version"),
        ({"since": '"yesterday"'}, "correction.since"),
        ({"gain": "1"}, "correction.gain"),
    ],
)
def test_a_section_that_makes_no_sense_is_refused(tmp_path: Path, changed: dict[str, str], says: str) -> None:
    with pytest.raises(InputError, match=says):
        judged(tmp_path, "0.6310", **changed)
