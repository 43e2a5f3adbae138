"""A lot of several positions from its files to its record: the worst one decides, others are untouched."""

from __future__ import annotations

import json
import math
from importlib.resources import files
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from tests.bench.record.test_judge import FULL_CHECK, NOW, OWN, lot_file

from isohume.bench.record.compose import compose
from isohume.bench.record.judge import JudgedLot, judge_lot
from isohume.bench.record.lot_file import read_lot_file

WIDE = FULL_CHECK + "KCl,,25.0,0.8435,2026-09-15T06:15Z\nK2SO4,,25.0,0.9730,2026-09-15T06:20Z\n"
B_OWN = OWN.replace("0.0032", "0.0037")
SCHEMA = json.loads(files("isohume.bench.record").joinpath("schema/record-1.json").read_text(encoding="utf-8"))
CART = ("0.812,,,composite,", "0.858,,,bottom front,", "0.860,,,Bottom front,", "0.862,,,bottom front,",
        "0.864,,,bottom front,")  # fmt: skip


def judged(
    folder: Path, portions: tuple[str, ...], uncertainty: str = B_OWN, limits: str = "maximum = 0.850"
) -> JudgedLot:
    """A lot of plant B, judged."""
    path = lot_file(
        folder, "maximum = 0.850", portions, check=WIDE, kind="safety", uncertainty=uncertainty, expected="0.80"
    )
    return judge_lot(read_lot_file(path), NOW)


def test_plant_b_is_held_by_its_worst_position(tmp_path: Path) -> None:
    found = judged(tmp_path, CART)
    assert found.decision.value is not None
    assert float(found.decision.value) == 0.861
    assert (found.decision.verdict, found.decision.disposition) == ("fail", "hold")
    assert found.decision.route == "mean of 4, worst position"
    assert found.decision.u == pytest.approx(math.sqrt(0.0037**2 + 0.002**2 / 4), rel=1e-12)
    assert not found.decision.sampling_included
    assert found.strata is not None
    assert found.strata.probability_all is not None
    assert found.strata.probability_all <= (found.decision.probability_of_conformity or 0)
    assert any("a position that was not read may be worse" in reason for reason in found.decision.reasons)


def test_the_record_shows_the_strata_and_fits_its_schema(tmp_path: Path) -> None:
    record = compose(judged(tmp_path, CART), "R000001", "2026-09-15T12:00:00+00:00")
    record["instrument"]["serial"] = "B-1"
    assert [(list(e.path), e.message) for e in Draft202012Validator(SCHEMA).iter_errors(record)] == []
    assert [place["position"] for place in record["strata"]["positions"]] == ["bottom front", "composite"]
    value = next(how for how in record["how"] if how["figure"] == "value of the lot's portions")
    assert value["inputs"]["portions"] == ["0.858", "0.860", "0.862", "0.864"]


def test_all_positions_together_are_said_beside_the_worst(tmp_path: Path) -> None:
    found = judged(tmp_path, ("0.836,,,top,", "0.838,,,top,", "0.8405,,,bottom,", "0.8415,,,bottom,"))
    assert found.decision.verdict == "pass"
    assert found.strata is not None
    together, worst = found.strata.probability_all, found.decision.probability_of_conformity
    assert together is not None
    assert worst is not None
    assert 0.9 < together < worst
    assert any(f"{together:.3g}" in reason for reason in found.decision.reasons)


def test_a_declared_spread_between_positions_counts_in_full_for_the_worst_one(tmp_path: Path) -> None:
    own = B_OWN.replace("source", "s_position = 0.004\nsource")
    found = judged(tmp_path, ("0.812,,,top,", "0.811,,,top,", "0.830,,,bottom,", "0.831,,,bottom,"), own)
    assert found.decision.u == pytest.approx(math.sqrt(0.0037**2 + 0.002**2 / 2 + 0.004**2), rel=1e-12)
    assert not found.decision.sampling_included


def test_pooled_positions_keep_what_a_declared_spread_says_of_the_lot(tmp_path: Path) -> None:
    own = B_OWN.replace("source", "s_position = 0.004\nsource")
    found = judged(tmp_path, ("0.812,,,top,", "0.811,,,top,", "0.813,,,bottom,", "0.812,,,bottom,"), own)
    assert found.decision.sampling_included
    assert found.decision.u == pytest.approx(math.sqrt(0.0037**2 + 0.002**2 / 4 + 0.004**2 / 2), rel=1e-12)
    assert found.strata is not None
    assert found.strata.decides == "pooled"


def test_without_enough_portions_or_positions_the_record_knows_no_strata(tmp_path: Path) -> None:
    for portions in (("0.812,,,top,", "0.811,,,bottom,"), ("0.812", "0.811", "0.813", "0.812")):
        found = judged(tmp_path, portions)
        assert found.strata is None
        assert "strata" not in compose(found, "R000001", "2026-09-15T12:00:00+00:00")


def test_a_place_without_a_name_cannot_be_hidden_among_named_ones(tmp_path: Path) -> None:
    found = judged(tmp_path, ("0.812,,,top,", "0.811,,,bottom,", "0.845,,,,", "0.846,,,,"))
    assert found.strata is not None
    assert found.strata.worst.position == "position not given"
    assert found.decision.disposition == "hold"
