"""From files to a frozen record: repeatable, all or nothing, and no second record without a reason."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path

import pytest

from isohume.bench.record.certification import certify, freeze_judged, lot_key
from isohume.bench.record.judge import judge_lot
from isohume.bench.record.lot_file import read_lot_file
from isohume.bench.record.store import open_store
from isohume.foundation.quantity import InputError

NOW = datetime(2026, 9, 15, 18, 0, tzinfo=UTC)
DAY = files("isohume.outlets.demo").joinpath("harrow_lane")


@pytest.fixture
def day(tmp_path: Path) -> Path:
    """The demonstration day's input files."""
    folder = tmp_path / "inputs"
    folder.mkdir()
    for item in DAY.iterdir():
        (folder / item.name).write_bytes(item.read_bytes())
    return folder


def add(path: Path, text: str) -> None:
    """Append to a file."""
    path.write_text(path.read_text(encoding="utf-8") + text, encoding="utf-8")


def test_the_same_inputs_make_the_same_record(day: Path, tmp_path: Path) -> None:
    first = certify(day / "SB-0914-01.toml", tmp_path / "data", NOW)
    again = certify(day / "SB-0914-01.toml", tmp_path / "data", NOW)
    assert (first.already_frozen, again.already_frozen) == (False, True)
    assert (first.record, first.digest) == (again.record, again.digest)
    with open_store(tmp_path / "data") as store:
        assert len(store.records_of_lot(lot_key("SB-0914-01"))) == 1


def test_given_again_after_signing_it_comes_with_its_signatures(day: Path, tmp_path: Path) -> None:
    first = certify(day / "SB-0914-01.toml", tmp_path / "data", NOW)
    with open_store(tmp_path / "data") as store, store.transaction() as transaction:
        signed = transaction.sign(
            "R000001", person="mara", printed_name="Mara", role="qa", meaning="released", act="a", of=1, statement=""
        )
    again = certify(day / "SB-0914-01.toml", tmp_path / "data", NOW)
    assert (first.signatures, again.signatures) == ((), (signed,))
    assert signed.digest == first.digest == again.digest


def test_the_record_holds_every_run_and_every_input(day: Path, tmp_path: Path) -> None:
    record = certify(day / "SB-0914-01.toml", tmp_path / "data", NOW).record
    assert [run["use"] for run in record["readings"]] == ["replicate", "void", "replicate", "re-read"]
    assert [file["role"] for file in record["inputs"]] == ["lot", "check", "closing check", "readings"]
    assert record["specification"]["upper_limit"] == {"value": "0.650", "operator": "<="}
    assert [companion["quantity"] for companion in record["companions"]] == ["moisture", "pH"]
    assert {entry["figure"] for entry in record["how"]} >= {"probability of conformity", "acceptance limits"}


def test_other_inputs_for_the_same_lot_need_a_reason(day: Path, tmp_path: Path) -> None:
    lot = day / "SB-0914-02.toml"
    first = certify(lot, tmp_path / "data", NOW)
    text = lot.read_text(encoding="utf-8")
    lot.write_text(text.replace("maximum = 0.650", "maximum = 0.700"), encoding="utf-8")
    with pytest.raises(InputError, match=r"amendment.reason: .*'SB-0914-02' gets another record: it has R000001"):
        certify(lot, tmp_path / "data", NOW)
    add(lot, '\n[amendment]\nreason = "wrong specification version was attached"\n')
    second = certify(lot, tmp_path / "data", NOW)
    assert second.record["earlier_records"] == [first.record["id"]]
    assert second.record["amendment"] == {"reason": "wrong specification version was attached"}
    with open_store(tmp_path / "data") as store:
        assert len(store.records_of_lot(lot_key("SB-0914-02"))) == 2


def test_portions_that_were_asked_for_may_be_added(day: Path, tmp_path: Path) -> None:
    lot, readings = day / "SB-0914-03.toml", day / "SB-0914-03-readings.csv"
    assert certify(lot, tmp_path / "data", NOW).record["decision"]["verdict"] == "more portions needed"
    add(readings, "60,C,line 1 start,whole bar,0.6341,2026-09-15T09:30:00+01:00,25.0,25.0,\n")
    add(readings, "61,D,line 1 end,whole bar,0.6322,2026-09-15T09:38:00+01:00,25.0,25.0,\n")
    second = certify(lot, tmp_path / "data", NOW).record
    assert second["decision"]["route"] == "median of 4"
    assert second["earlier_records"] == ["R000001"]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("0.6401", "0.6301"),
        ("48,B", "48,A"),
        ("\n47,A", "\n46,A"),
        ("25.0,25.0,\n", "25.0,25.0,spilled\n"),
        ("line 1 end", "line 1 middle"),
        ("25.0,25.0,\n", "25.0,25.4,\n"),
    ],
)
def test_but_an_earlier_run_may_not_change_or_vanish(day: Path, tmp_path: Path, old: str, new: str) -> None:
    lot, readings = day / "SB-0914-03.toml", day / "SB-0914-03-readings.csv"
    certify(lot, tmp_path / "data", NOW)
    readings.write_text(readings.read_text(encoding="utf-8").replace(old, new), encoding="utf-8")
    add(readings, "60,C,line 1 start,whole bar,0.6301,2026-09-15T09:30:00+01:00,25.0,25.0,\n")
    with pytest.raises(InputError, match="amendment"):
        certify(lot, tmp_path / "data", NOW)


def test_a_portion_more_after_a_verdict_needs_a_reason(day: Path, tmp_path: Path) -> None:
    """Testing until it passes: a conditional pass gets no third portion without a word."""
    lot, readings = day / "SB-0914-02.toml", day / "SB-0914-02-readings.csv"
    certify(lot, tmp_path / "data", NOW)
    add(readings, "62,C,line 2 end,whole bar,0.6330,2026-09-15T10:30:00+01:00,25.0,25.0,\n")
    with pytest.raises(InputError, match="amendment"):
        certify(lot, tmp_path / "data", NOW)


def test_bad_input_leaves_nothing_behind(day: Path, tmp_path: Path) -> None:
    add(day / "SB-0914-01-readings.csv", "99,Z,x,whole bar,65.2,2026-09-15T10:30:00+01:00,25.0,25.0,\n")
    with pytest.raises(InputError, match=r"row 6: a_w: read '65.2'"):
        certify(day / "SB-0914-01.toml", tmp_path / "data", NOW)
    assert not (tmp_path / "data").exists()


def test_a_refused_lot_is_frozen_with_its_reasons(day: Path, tmp_path: Path) -> None:
    record = certify(day / "SB-0914-09.toml", tmp_path / "data", NOW).record
    assert record["decision"]["verdict"] == "no verdict"
    assert "not bracketed above" in record["decision"]["reasons"][0]
    assert record["budget"]["label"].startswith("starter budget")


def test_the_body_is_the_canonical_form_of_the_record(day: Path, tmp_path: Path) -> None:
    certified = certify(day / "SB-0914-01.toml", tmp_path / "data", NOW)
    with open_store(tmp_path / "data") as store:
        frozen = store.record(certified.record["id"])
    assert frozen is not None
    text = json.dumps(certified.record, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert frozen.body == text.encode()


def test_a_looser_repeatability_is_no_continuation(day: Path, tmp_path: Path) -> None:
    lot, readings = day / "SB-0914-03.toml", day / "SB-0914-03-readings.csv"
    certify(lot, tmp_path / "data", NOW)
    lot.write_text(lot.read_text(encoding="utf-8").replace("s_r = 0.0020", "s_r = 0.0200"), encoding="utf-8")
    add(readings, "60,C,line 1 start,whole bar,0.6341,2026-09-15T09:30:00+01:00,25.0,25.0,\n")
    with pytest.raises(InputError, match="amendment"):
        certify(lot, tmp_path / "data", NOW)


def test_superseded_inputs_release_nothing(day: Path, tmp_path: Path) -> None:
    lot = day / "SB-0914-01.toml"
    text = lot.read_text(encoding="utf-8")
    certify(lot, tmp_path / "data", NOW)
    stricter = text.replace("maximum = 0.650", "maximum = 0.600") + '\n[amendment]\nreason = "customer limit"\n'
    lot.write_text(stricter, encoding="utf-8")
    assert certify(lot, tmp_path / "data", NOW).record["decision"]["verdict"] == "fail"
    lot.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match="inputs: read 'R000001'; allowed: the inputs of R000002"):
        certify(lot, tmp_path / "data", NOW)


def test_each_amendment_has_a_reason_of_its_own(day: Path, tmp_path: Path) -> None:
    lot = day / "SB-0914-01.toml"
    reason = '\n[amendment]\nreason = "lot number typed wrong"\n'
    text = lot.read_text(encoding="utf-8")
    lot.write_text(text + reason, encoding="utf-8")
    with pytest.raises(InputError, match="no record to amend"):
        certify(lot, tmp_path / "data", NOW)
    lot.write_text(text, encoding="utf-8")
    certify(lot, tmp_path / "data", NOW)
    for maximum, allowed in (("0.660", True), ("0.670", False)):
        lot.write_text(text.replace("0.650", maximum) + reason, encoding="utf-8")
        if allowed:
            certify(lot, tmp_path / "data", NOW)
        else:
            with pytest.raises(InputError, match="a reason of its own"):
                certify(lot, tmp_path / "data", NOW)


def test_a_lot_id_in_another_case_is_the_same_lot(day: Path, tmp_path: Path) -> None:
    lot = day / "SB-0914-01.toml"
    certify(lot, tmp_path / "data", NOW)
    lot.write_text(lot.read_text(encoding="utf-8").replace('"SB-0914-01"', '"sb-0914-01"', 1), encoding="utf-8")
    with pytest.raises(InputError, match="amendment"):
        certify(lot, tmp_path / "data", NOW)


def test_a_void_run_may_stem_from_before_the_check_and_from_another_instrument(day: Path, tmp_path: Path) -> None:
    """An instrument failed, its runs were voided, and new portions were read on another one."""
    readings, lot = day / "SB-0914-01-readings.csv", day / "SB-0914-01.toml"
    lot.write_text(lot.read_text(encoding="utf-8").replace("T07:40:00+01:00", "T03:40:00+01:00"), encoding="utf-8")
    rows = readings.read_text(encoding="utf-8").splitlines()
    rows = [f"{row},{'instrument' if number == 0 else 'OW-1'}" for number, row in enumerate(rows)]
    early = "40,Z,line 1 start,whole bar,0.6702,2026-09-15T04:00:00+01:00,25.0,25.0,{},OW-9"
    readings.write_text("\n".join([*rows, early.format("its check failed")]) + "\n", encoding="utf-8")
    record = certify(lot, tmp_path / "data", NOW).record
    void = next(run for run in record["readings"] if run["run"] == "40")
    assert (void["use"], void["reasons"]) == ("void", ["Void: its check failed.", "Read on OW-9."])
    assert record["decision"]["value"] == pytest.approx((0.6315 + 0.6331) / 2)
    readings.write_text("\n".join([*rows, early.format("")]) + "\n", encoding="utf-8")
    with pytest.raises(InputError, match="instrument: read 'OW-9'"):
        certify(lot, tmp_path / "other", NOW)


def test_a_key_of_its_own_keeps_two_plants_apart(day: Path, tmp_path: Path) -> None:
    """Two plants may have a lot of one id: the caller's key tells them apart."""
    lot = read_lot_file(day / "SB-0914-01.toml")
    judged = judge_lot(lot, NOW)
    with open_store(tmp_path / "data") as store, store.transaction() as transaction:
        one, first = freeze_judged(transaction, judged, "1" * 64, "plant-a/sb-0914-01")
        two, second = freeze_judged(transaction, judged, "2" * 64, "plant-b/sb-0914-01")
        again, third = freeze_judged(transaction, judged, "1" * 64, "plant-a/sb-0914-01")
    assert (first, second, third) == (True, True, False)
    assert (one.id, two.id, again.id) == ("R000001", "R000002", "R000001")
    assert two.content["earlier_records"] == []
