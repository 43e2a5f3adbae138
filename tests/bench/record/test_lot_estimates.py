"""A lot with values taken before the method's criterion: labelled, in the budget, held without a document."""

from __future__ import annotations

import json
import math
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from tests.bench.record.test_judge import OWN, lot_file
from tests.bench.record.test_tampering import Shell, behind

from isohume.bench.record.canonical_form import canonical
from isohume.bench.record.certification import certify
from isohume.bench.record.judge import JudgedLot, judge_lot
from isohume.bench.record.lot_file import read_lot_file
from isohume.bench.record.tables import DATABASE
from isohume.bench.record.verification import verify
from isohume.foundation.quantity import InputError

NOW = datetime(2026, 9, 15, 18, 0, tzinfo=UTC)
SCHEMA = json.loads(files("isohume.bench.record").joinpath("schema/record-1.json").read_text(encoding="utf-8"))
EARLY = "non-equilibrium estimate"
REPORT = "Validation report BM-12-V2: 60 bars"
MAXIMUM = "maximum = 0.650"
Row = tuple[str, str, str, str]  # portion, a_w, how it stopped, u of an estimate


def early_file(
    folder: Path, rows: tuple[Row, ...], *, document: str = "", limits: str = MAXIMUM, **options: Any
) -> Path:
    """The lot of test_judge with a readings file that says how each run ended."""
    path = lot_file(folder, limits, tuple(a_w for _, a_w, _, _ in rows), **options)
    lines = [f"{p},{a_w},2026-09-15T08:{i:02d}Z,{stop},{u}" for i, (p, a_w, stop, u) in enumerate(rows)]
    text = "portion,a_w,read_at,stopped,u_estimate\n" + "\n".join(lines) + "\n"
    (folder / "readings.csv").write_text(text, encoding="utf-8")
    typed = path.read_text(encoding="utf-8").replace('id = "OW-1"\n', 'id = "OW-1"\nserial = "417"\n')
    if document:
        typed = typed.replace('version = "3"\n', f'version = "3"\nestimates_validated = "{document}"\n')
    path.write_text(typed, encoding="utf-8")
    return path


def judged(folder: Path, *rows: Row, **options: Any) -> JudgedLot:
    """That lot, judged."""
    return judge_lot(read_lot_file(early_file(folder, rows, **options)), NOW)


def test_one_estimate_is_in_the_budget_and_holds_the_lot(tmp_path: Path) -> None:
    """u^2 = 0.0032^2 + 0.0020^2/2 + 0.0031^2 by hand (JCGM 100, 5.1.2)."""
    found = judged(tmp_path, ("A", "0.6315", "settled", ""), ("B", "0.6331", EARLY, "0.0031"))
    assert found.decision.u == pytest.approx(math.sqrt(0.0032**2 + 0.002**2 / 2 + 0.0031**2), rel=1e-12)
    assert (found.decision.verdict, found.decision.disposition) == ("pass", "hold")
    assert found.decision.probability_of_conformity is not None
    assert found.budget is not None
    assert found.budget.components[-1].name == "values taken before the criterion"
    assert found.estimates is not None
    assert found.estimates.label == "non-equilibrium estimate in 1 of 2 portions"
    assert "a non-equilibrium estimate, u 0.0031" in found.runs[1].reasons[0]


def test_two_estimates_add_the_larger_one_once(tmp_path: Path) -> None:
    found = judged(tmp_path, ("A", "0.6315", EARLY, "0.0010"), ("B", "0.6331", EARLY, "0.0031"))
    assert found.decision.u == pytest.approx(math.sqrt(0.0032**2 + 0.002**2 / 2 + 0.0031**2), rel=1e-12)


def test_a_document_lets_it_release_and_is_said(tmp_path: Path) -> None:
    found = judged(tmp_path, ("A", "0.6315", EARLY, "0.0031"), document=REPORT)
    assert (found.decision.verdict, found.decision.disposition) == ("pass", "release")
    assert REPORT in found.decision.reasons[0]


def test_settled_portions_are_judged_as_before(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    settled = judged(tmp_path / "a", ("A", "0.6315", "settled", ""), ("B", "0.6331", "settled", ""))
    unsaid = judged(tmp_path / "b", ("A", "0.6315", "", ""), ("B", "0.6331", "", ""))
    assert settled.decision == unsaid.decision
    assert settled.estimates is None
    assert settled.budget == unsaid.budget


def test_a_settled_reading_of_the_same_cup_takes_the_estimates_place(tmp_path: Path) -> None:
    found = judged(tmp_path, ("A", "0.6290", EARLY, "0.0060"), ("A", "0.6331", "settled", ""))
    assert [run.use for run in found.runs] == ["re-read", "replicate"]
    assert str(found.decision.value) == "0.6331"
    assert (found.decision.verdict, found.decision.disposition) == ("pass", "release")
    assert found.estimates is None
    assert "settled and takes its place" in found.runs[0].reasons[-1]


@pytest.mark.parametrize("again", [EARLY, ""])
def test_what_did_not_settle_takes_nobodys_place(tmp_path: Path, again: str) -> None:
    found = judged(tmp_path, ("A", "0.6290", EARLY, "0.0060"), ("A", "0.6331", again, ""))
    assert [run.use for run in found.runs] == ["replicate", "re-read"]
    assert found.decision.disposition == "hold"


def test_an_estimate_after_a_settled_reading_is_a_re_read(tmp_path: Path) -> None:
    found = judged(tmp_path, ("A", "0.6331", "settled", ""), ("A", "0.6290", EARLY, "0.0060"))
    assert [run.use for run in found.runs] == ["replicate", "re-read"]
    assert found.decision.disposition == "release"


@pytest.mark.parametrize("kind", ["quality", "safety"])
def test_a_number_that_nobody_knows_to_have_settled_hides_no_estimate(tmp_path: Path, kind: str) -> None:
    """The display's last number, typed with an earlier moment, is not the cup's reading: label and u stay."""
    found = judged(tmp_path, ("A", "0.5709", "", ""), ("A", "0.5709", EARLY, "0.0060"), kind=kind)
    assert [run.use for run in found.runs] == ["re-read", "replicate"]
    assert (found.decision.verdict, found.decision.disposition) == ("pass", "hold")
    assert found.estimates is not None
    assert (found.estimates.label, found.estimates.u) == (EARLY, 0.006)
    assert found.budget is not None
    assert found.budget.components[-1].name == "values taken before the criterion"
    assert "only a reading that is known to have settled" in found.runs[0].reasons[-1]


def test_of_a_cup_with_an_estimate_only_what_settled_counts(tmp_path: Path) -> None:
    rows = (("A", "0.6290", "", ""), ("A", "0.6300", EARLY, "0.0060"), ("A", "0.6331", "settled", ""))
    found = judged(tmp_path, *rows)
    assert [run.use for run in found.runs] == ["re-read", "re-read", "replicate"]
    assert (str(found.decision.value), found.estimates) == ("0.6331", None)


def test_an_estimate_beyond_a_safety_limit_holds_the_lot_even_where_it_gave_way(tmp_path: Path) -> None:
    rows = (("A", "0.6600", EARLY, "0.0060"), ("A", "0.6331", "settled", ""))
    found = judged(tmp_path, *rows, kind="safety")
    assert (found.decision.verdict, found.decision.disposition) == ("pass", "hold")


def test_an_estimate_without_an_uncertainty_gives_no_verdict(tmp_path: Path) -> None:
    found = judged(tmp_path, ("A", "0.6315", "settled", ""), ("B", "0.6331", EARLY, ""), document=REPORT)
    assert (found.decision.verdict, found.decision.disposition) == ("no verdict", "hold")
    assert found.decision.u is None
    assert any("none is invented" in reason for reason in found.decision.reasons)


def test_an_estimate_too_wide_for_its_limits_gives_no_verdict(tmp_path: Path) -> None:
    limits = "minimum = 0.600\nmaximum = 0.650"
    found = judged(tmp_path, ("A", "0.6315", EARLY, "0.0300"), limits=limits, document=REPORT)
    assert found.decision.verdict == "no verdict"
    assert any("too uncertain to be judged" in reason for reason in found.decision.reasons)


def test_positions_are_ranked_with_the_estimates_uncertainty(tmp_path: Path) -> None:
    """Two places that pass by themselves with u 0.0035 do not with 0.0120 in common: a safety limit is not pooled."""
    own = {"kind": "safety", "uncertainty": OWN}
    rows = tuple(
        (name, a_w, "settled", "") for name, a_w in zip("ABCD", ("0.632", "0.633", "0.631", "0.632"), strict=True)
    )
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    places = ("top", "top", "bottom", "bottom")

    def with_places(folder: Path, given: tuple[Row, ...]) -> JudgedLot:
        path = early_file(folder, given, **own)
        head, *lines = (folder / "readings.csv").read_text(encoding="utf-8").splitlines()
        placed = [f"{line},{place}" for line, place in zip(lines, places, strict=True)]
        (folder / "readings.csv").write_text("\n".join([f"{head},position", *placed]) + "\n", encoding="utf-8")
        return judge_lot(read_lot_file(path), NOW)

    plain = with_places(tmp_path / "a", rows)
    early = with_places(tmp_path / "b", (*rows[:3], ("D", "0.632", EARLY, "0.0120")))
    assert plain.strata is not None
    assert early.strata is not None
    assert (plain.strata.decides, early.strata.decides) == ("pooled", "worst position")
    assert early.decision.u is not None
    assert early.decision.u >= 0.0120
    assert early.decision.disposition == "hold"


def test_the_record_keeps_it_and_fits_its_schema(tmp_path: Path) -> None:
    rows = (("A", "0.6315", "settled", ""), ("B", "0.6331", EARLY, "0.00310"))
    made = certify(early_file(tmp_path, rows, document=REPORT), tmp_path / "data", NOW)
    record = made.record
    assert [list(error.path) for error in Draft202012Validator(SCHEMA).iter_errors(record)] == []
    assert [(r.get("stopped"), r.get("u_estimate")) for r in record["readings"]] == [
        ("settled", None), (EARLY, "0.00310"),
    ]  # fmt: skip
    assert record["estimates"] == {
        "label": "non-equilibrium estimate in 1 of 2 portions",
        "runs": ["2"],
        "of": 2,
        "u": 0.0031,
        "validated_by": REPORT,
    }
    assert record["method"]["estimates_validated"] == REPORT
    assert any("before the method's criterion" in caution for caution in record["cautions"])
    assert "uncertainty of the non-equilibrium estimate" in [how["figure"] for how in record["how"]]
    assert certify(tmp_path / "lot.toml", tmp_path / "data", NOW).already_frozen


def test_a_lot_that_says_nothing_of_it_has_none_of_these_keys(tmp_path: Path) -> None:
    path = lot_file(tmp_path, MAXIMUM, ("0.6315", "0.6331"))
    text = canonical(certify(path, tmp_path / "data", NOW).record).decode()
    for key in ("stopped", "u_estimate", '"estimates"', "estimates_validated"):
        assert key not in text


@pytest.mark.parametrize("change", ["label", "uncertainty", "document"])
def test_taking_the_label_away_is_another_lot_file_and_needs_a_reason(tmp_path: Path, change: str) -> None:
    rows = (("A", "0.6331", EARLY, "0.0031"),)
    certify(early_file(tmp_path, rows), tmp_path / "data", NOW)
    changed, document = rows, ""
    if change == "label":
        changed = (("A", "0.6331", "settled", ""),)
    elif change == "uncertainty":
        changed = (("A", "0.6331", EARLY, "0.0001"),)
    else:
        document = REPORT
    with pytest.raises(InputError) as error:
        certify(early_file(tmp_path, changed, document=document), tmp_path / "data", NOW)
    assert error.value.field == "amendment.reason"


@pytest.mark.parametrize(
    ("said", "instead"), [(EARLY, "settled"), ('"u_estimate":"0.0031"', '"u_estimate":"0.0001"'), ("hold", "release")]
)
def test_a_frozen_label_that_is_changed_is_found(tmp_path: Path, shell: Shell, said: str, instead: str) -> None:
    data = tmp_path / "data"
    certify(early_file(tmp_path, (("A", "0.6331", EARLY, "0.0031"),)), data, NOW)
    assert verify(data).verified
    with closing(sqlite3.connect(data / DATABASE)) as connection:
        (before,) = connection.execute("SELECT CAST(body AS TEXT) FROM record").fetchone()
    assert said in before
    shell(data, behind(f"UPDATE record SET body = CAST(replace(CAST(body AS TEXT), '{said}', '{instead}') AS BLOB)"))
    assert not verify(data).verified


@pytest.mark.parametrize(
    ("stop", "u", "field"),
    [
        ("estimate", "", "stopped"),
        ("Settled", "", "stopped"),
        ("settled", "0.003", "u_estimate"),
        ("", "0.003", "u_estimate"),
        (EARLY, "0", "u_estimate"),
        (EARLY, "-0.003", "u_estimate"),
        (EARLY, "0.6", "u_estimate"),
        (EARLY, "nan", "u_estimate"),
        (EARLY, "small", "u_estimate"),
    ],
)
def test_what_makes_no_sense_is_refused(tmp_path: Path, stop: str, u: str, field: str) -> None:
    with pytest.raises(InputError) as error:
        judged(tmp_path, ("A", "0.6331", stop, u))
    assert (error.value.field, error.value.row) == (field, 2)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(st.decimals("0.60", "0.69", places=4), min_size=1, max_size=4),
    st.decimals("0.0001", "0.02", places=4),
    st.data(),
    st.sampled_from(("quality", "safety")),
)
def test_an_estimate_never_helps_a_lot(tmp_path: Path, values: list[Any], u: Any, data: Any, kind: str) -> None:
    """The same portions, some of them stopped early: no release without a document, and no surer pass inside."""
    early = data.draw(st.lists(st.booleans(), min_size=len(values), max_size=len(values)).filter(any))
    plain_rows = tuple((f"P{i}", str(a_w), "settled", "") for i, a_w in enumerate(values))
    early_rows = tuple(
        (name, a_w, EARLY, str(u)) if so else (name, a_w, stop, "")
        for (name, a_w, stop, _), so in zip(plain_rows, early, strict=True)
    )
    plain = judged(tmp_path, *plain_rows, kind=kind).decision
    free = judged(tmp_path, *early_rows, kind=kind).decision
    documented = judged(tmp_path, *early_rows, kind=kind, document=REPORT).decision
    assert free.disposition == "hold"
    if plain.disposition == "hold":
        assert documented.disposition == "hold"
    inside = plain.value is not None and plain.value <= plain.specification.limits[0].value
    if inside and plain.probability_of_conformity is not None and documented.probability_of_conformity is not None:
        assert documented.probability_of_conformity <= plain.probability_of_conformity + 1e-12
    assert (free.value, free.u, free.verdict) == (documented.value, documented.u, documented.verdict)
