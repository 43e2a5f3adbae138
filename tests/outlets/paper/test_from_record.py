"""The content of a certificate: titles, the first answer, the sections, and what is refused."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.paper.from_record import certificate_content
from isohume.outlets.paper.record_line import line_of


def said(content: dict[str, Any], title: str) -> str:
    """All words of the section with a title."""
    return json.dumps(next(s for s in content["sections"] if s["title"] == title), ensure_ascii=False)


def test_a_verdict_comes_first_and_never_without_specification_rule_and_result(
    record: dict[str, Any], digest: str
) -> None:
    content = certificate_content(record, digest)
    assert content["title"] == "Certificate of water activity"
    assert content["headline"]["verdict"] == "Pass against specification version 4"
    assert content["headline"]["probability"] == "Probability of conformity: above 0.9999"
    rows = dict(content["headline"]["block"]["rows"])
    assert rows["Result"].startswith("Water activity 0.6323, U = 0.0075 (k = 2); mean of 2; whole bar, at 25.0 °C")
    assert "at most 0.650 (≤\u00a00.650)" in rows["Specification"]
    assert rows["Decision rule"].startswith("Guarded acceptance, w = 1.64 u")
    assert "guard band 0.0062; acceptance up to 0.6438" in rows["Decision rule"]
    assert rows["Applies to"].startswith("The portions tested. Sampling not included")


@pytest.mark.parametrize("verdict", ["no verdict", "more portions needed"])
def test_without_a_verdict_the_title_states_nothing(refused: dict[str, Any], digest: str, verdict: str) -> None:
    refused["decision"]["verdict"] = verdict
    content = certificate_content(refused, digest)
    assert content["title"] == "Report of measurement, no statement of conformity"
    assert content["headline"]["verdict"] == verdict.capitalize()
    assert content["headline"]["probability"] == ""
    assert content["headline"]["label"] == "What was found"
    rows = dict(content["headline"]["block"]["rows"])
    assert "Outcome" not in rows
    assert rows["Because"] == "Not bracketed above."


def test_a_refused_lot_still_draws_its_readings_and_the_limit(refused: dict[str, Any]) -> None:
    spec = line_of(refused)
    assert spec is not None
    assert [v.kind for v in spec.values] == ["reading", "reading", "not used"]
    assert spec.limits[0].typed == "0.650"


def test_an_instrument_that_may_not_measure_has_no_range_to_speak_in(refused: dict[str, Any]) -> None:
    refused["standing"]["may_measure"] = False
    spec = line_of(refused)
    assert spec is not None
    assert spec.speaks is None


def test_void_runs_stand_in_the_readings_with_their_reason_and_not_on_the_line(
    record: dict[str, Any], digest: str
) -> None:
    readings = said(certificate_content(record, digest), "Readings")
    assert "lid left off" in readings
    assert "4 in all, 2 of them counted" in readings
    record["readings"][2]["use"] = "other component"
    spec = line_of(record)
    assert spec is not None
    assert 0.6334 not in [v.value for v in spec.values]
    assert 0.7010 not in [v.value for v in spec.values]


def test_a_value_that_rounds_across_its_limit_is_also_given_unrounded(record: dict[str, Any], digest: str) -> None:
    # 0.6504 is over 0.650 although it prints 0.650 beside u = 0.012
    record["determination"].update(value=0.6504, u=0.012)
    rows = dict(certificate_content(record, digest)["headline"]["block"]["rows"])
    assert rows["Result"].startswith("Water activity 0.650, U = 0.024")
    assert rows["Result"].endswith("(compared unrounded: 0.6504)")


def test_a_value_clear_of_its_limit_is_not_given_twice(record: dict[str, Any], digest: str) -> None:
    assert "unrounded" not in json.dumps(certificate_content(record, digest))


def test_the_route_spells_its_number(record: dict[str, Any], digest: str) -> None:
    record["determination"].update(route="median of 4", n=4)
    assert "median of 4" in dict(certificate_content(record, digest)["headline"]["block"]["rows"])["Result"]
    record["determination"].update(route="median of n", n=4)
    assert "median of 4" in dict(certificate_content(record, digest)["headline"]["block"]["rows"])["Result"]


def test_checks_show_each_reference_and_say_when_none_closed_them(record: dict[str, Any], digest: str) -> None:
    words = said(certificate_content(record, digest), "Checks that bracket it")
    for expected in ("MgCl2, saturated, lot MC-118", "0.3280", "0.3286", "+0.0006", "0.18", "No closing check."):
        assert expected in words
    record["closing_check"] = copy.deepcopy(record["check"])
    record["closing_check"]["at"] = "2026-11-24T15:00:00+00:00"
    record["standing"]["bracketed_by_closing_check"] = True
    words = said(certificate_content(record, digest), "Checks that bracket it")
    assert "Closing check, 2026-11-24T15:00Z: Pass" in words
    assert "No closing check." not in words


def test_references_may_name_several_lots(record: dict[str, Any], digest: str) -> None:
    record["check"]["solutions"][0]["lots"] = ["MC-118", "MC-119"]
    assert "lot MC-118, MC-119" in said(certificate_content(record, digest), "Checks that bracket it")


def test_no_uncertainty_is_said_and_none_invented(refused: dict[str, Any], digest: str) -> None:
    assert "No uncertainty is known" in said(certificate_content(refused, digest), "Uncertainty")


def test_no_determination_at_all_is_said(refused: dict[str, Any], digest: str) -> None:
    refused["determination"] = None
    assert "no determination was made" in said(certificate_content(refused, digest), "Replicates")


def test_an_amendment_and_earlier_records_are_told(record: dict[str, Any], digest: str) -> None:
    assert "None named" in said(certificate_content(record, digest), "Earlier records")
    record.update(earlier_records=["R000001"], amendment={"reason": "lot number corrected"}, id="R000002")
    content = certificate_content(record, digest)
    assert content["amends"]
    words = said(content, "Earlier records")
    assert "R000001" in words
    assert "lot number corrected" in words


def test_a_companion_gives_its_uncertainty_once(record: dict[str, Any], digest: str) -> None:
    words = said(certificate_content(record, digest), "Found beside it")
    assert "pH 5.62 at 25.0 degC. Value 5.620, u = 0.020" in words
    record["companions"][1]["text"] = "pH 5.620 (u 0.020) at 25.0 degC"
    words = said(certificate_content(record, digest), "Found beside it")
    assert "pH 5.620 (u 0.020) at 25.0 degC" in words
    assert "Value 5.620" not in words


def test_signatures_are_listed_or_their_absence_said(record: dict[str, Any], digest: str) -> None:
    assert "Not signed." in said(certificate_content(record, digest), "Signatures")
    record["signatures"] = [
        {"name": "A. Invented", "role": "reviewer", "meaning": "approved", "at": "2026-11-24T16:00:00+00:00"}
    ]
    content = certificate_content(record, digest)
    assert content["signed"] == "Signed"
    for words in ("A. Invented", "reviewer", "approved", "2026-11-24T16:00Z"):
        assert words in said(content, "Signatures")


def test_runs_of_several_days_carry_their_whole_date(record: dict[str, Any], digest: str) -> None:
    record["readings"][1]["read_at"] = "2026-11-25T09:09:00+00:00"
    words = said(certificate_content(record, digest), "Readings")
    assert "2026-11-25T09:09Z" in words
    assert "2026-11-24T09:02Z" in words


@pytest.mark.parametrize(
    "path",
    [
        ("id",),
        ("issued_at",),
        ("site", "name"),
        ("lot", "id"),
        ("product", "name"),
        ("method", "name"),
        ("method", "version"),
        ("specification", "version"),
        ("instrument", "id"),
        ("software", "version"),
        ("decision", "verdict"),
        ("decision", "disposition"),
        ("decision", "rule"),
    ],
)
def test_a_record_without_what_a_report_must_say_is_refused(
    record: dict[str, Any], digest: str, path: tuple[str, ...]
) -> None:
    part = record
    for name in path[:-1]:
        part = part[name]
    part[path[-1]] = None
    with pytest.raises(InputError, match=path[-1]):
        certificate_content(record, digest)


def test_a_site_without_a_named_laboratory_stands_alone(record: dict[str, Any], digest: str) -> None:
    record["site"]["laboratory"] = None
    assert certificate_content(record, digest)["site"] == "Harrow Lane Oat Works"


def test_a_record_of_another_schema_is_refused(record: dict[str, Any], digest: str) -> None:
    record["schema"] = "isohume.record/2"
    with pytest.raises(InputError, match=r"isohume\.record/1"):
        certificate_content(record, digest)


def test_the_record_is_left_as_it_was(record: dict[str, Any], digest: str) -> None:
    before = copy.deepcopy(record)
    certificate_content(record, digest)
    assert record == before
