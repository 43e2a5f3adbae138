"""A study is added with its file kept; whatever is wrong with it is said by row and column, and nothing is saved."""

from __future__ import annotations

import hashlib
from io import BytesIO
from typing import Any

import pytest
import xlsxwriter
from django.test import Client
from django.urls import reverse
from tests.outlets.site.studies import bench as b
from tests.outlets.site.studies.bench import Bench

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.ledger.actions import Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.frozen import questions
from isohume.outlets.site.studies.columns import guessed, rows_of
from isohume.outlets.site.studies.models import Study
from isohume.outlets.site.work.models import Job


def test_points_are_kept_as_typed_and_the_worker_is_asked(bench: Bench) -> None:
    content = b.points_csv()
    study = perform(bench.adding(content), bench.by())
    assert study.points[0] == {"row": 2, "cells": {"a_w": "0.113", "moisture_db_percent": "4.11"}}
    assert len(study.points) == 10
    assert questions().file(hashlib.sha256(content).hexdigest()) == content
    assert (study.job.kind, study.job.state, study.job.argument) == ("isotherm", "queued", {"study": study.pk})
    (line,) = trail_of(study.ref)
    assert line.kind == "study_added"
    assert line.details["sha256"] == study.file_sha256
    assert line.details["points"] == 10
    assert [one.kind for one in trail_of(bench.product.ref)] == ["study_added"]


def test_the_same_file_twice_for_one_product_is_refused(bench: Bench) -> None:
    first = perform(bench.adding(), bench.by())
    with pytest.raises(Refused, match=f"are study {first.pk} already: bar-points.csv, added on .* by Dev"):
        perform(bench.adding(file_name="another-name.csv", formula_version="8"), bench.by())
    assert Study.objects.count() == 1


def test_the_same_file_for_another_product_is_another_study(bench: Bench) -> None:
    perform(bench.adding(), bench.by())
    first = bench.product
    bench.product = type(first).objects.create(
        site=bench.site, name="Seed bar", form=first.form, method=first.method, components=[]
    )
    assert perform(bench.adding(), bench.by()).product.name == "Seed bar"


def test_an_analyst_may_look_and_not_add(bench: Bench) -> None:
    with pytest.raises(Refused, match="this is for developer, manager"):
        perform(bench.adding(), bench.by("hand"))


@pytest.mark.parametrize(
    ("given", "field", "said"),
    [
        ({"formula_version": " "}, "formula_version", "the version of the recipe"),
        ({"direction": ""}, "direction", "adsorption or desorption"),
        ({"direction": "sideways"}, "direction", "adsorption or desorption"),
        ({"temperature_c": ""}, "temperature_c", "degrees Celsius"),
        ({"temperature_c": "298.15"}, "temperature_c", "kelvin"),
        ({"basis": ""}, "basis", "a bare number has none"),
        ({"basis": "moisture"}, "basis", "a bare number has none"),
        ({"columns": {"a_w": "aw"}}, "columns_moisture", "a column of the file"),
        ({"columns": {"a_w": "no such", "moisture": "moisture db %"}}, "columns_a_w", "aw, moisture db %"),
        ({"columns": {"a_w": "aw", "moisture": "aw"}}, "columns_moisture", "each column of the file once"),
        ({"file_name": "points.pdf"}, "file", ".csv, .txt, .tsv, .xlsx"),
    ],
)
def test_bad_fields_say_what_is_allowed_and_save_nothing(
    bench: Bench, given: dict[str, Any], field: str, said: str
) -> None:
    with pytest.raises(InputError) as raised:
        perform(bench.adding(**given), bench.by())
    assert raised.value.field == field
    assert said in raised.value.allowed
    assert (Study.objects.count(), Job.objects.count()) == (0, 0)


def test_every_wrong_row_is_named_with_column_value_and_allowed(bench: Bench, client: Client) -> None:
    content = b"aw,moisture db %\n0.113,4.11\n32.8,7.33\n0.432,much\n0.529,10.62\n"
    answer = bench.client(client).post(reverse("study_new"), b.form(bench.product, content))
    said = answer.content.decode()
    assert answer.status_code == 422
    assert "2 of 4 rows are refused; nothing was saved" in said
    assert "Row 3, column &#39;aw&#39;: read &#39;32.8&#39;; allowed: a fraction greater than 0 and at most 1" in said
    assert "was ERH in percent meant" in said
    assert (
        "Row 4, column &#39;moisture db %&#39;: read &#39;much&#39;; allowed: g of water per 100 g of dry solids"
        in said
    )
    assert Study.objects.count() == 0


def test_a_spreadsheet_is_read_as_well(bench: Bench) -> None:
    made = BytesIO()
    with xlsxwriter.Workbook(made, {"in_memory": True}) as book:
        sheet = book.add_worksheet("points")
        for row, cells in enumerate((("aw", "moisture db %"), *zip(b.A_W, b.ADSORBED, strict=True))):
            sheet.write_row(row, 0, cells)
    study = perform(bench.adding(made.getvalue(), file_name="points.xlsx"), bench.by())
    assert len(study.points) == 10
    assert float(study.points[3]["cells"]["a_w"]) == 0.432


@pytest.mark.parametrize(
    ("headings", "found"),
    [
        (
            ["a_w", "moisture_db_percent", "temperature_c", "direction", "u_a_w", "u_moisture"],
            {
                "a_w": "a_w",
                "moisture": "moisture_db_percent",
                "temperature_c": "temperature_c",
                "direction": "direction",
                "u_a_w": "u_a_w",
                "u_moisture": "u_moisture",
                "basis": "moisture_db_percent",
            },
        ),
        (["Water activity", "Moisture, % wet basis"], {"basis": "moisture_wb_percent"}),
        (["aw", "MC (g/g dry basis)", "Temp. C"], {"basis": "moisture_db", "temperature_c": "Temp. C"}),
        (["Sample", "aw", "Moisture (%)"], {"a_w": "aw", "moisture": "Moisture (%)"}),
    ],
)
def test_columns_are_guessed_from_headings(headings: list[str], found: dict[str, str]) -> None:
    guess = guessed(headings)
    assert found.items() <= guess.items()
    assert "Sample" not in guess.values()


def test_a_basis_that_no_heading_names_is_not_guessed() -> None:
    assert "basis" not in guessed(["aw", "Moisture (%)"])


def test_the_page_shows_the_guess_and_the_rows_before_anything_is_saved(bench: Bench, client: Client) -> None:
    answer = bench.client(client).post(
        reverse("study_new"), {"act": "look", "product": bench.product.pk, "file": b.chosen()}
    )
    said = answer.content.decode()
    assert answer.status_code == 200
    assert "10 points of bar-points.csv may be fitted" in said
    assert '<option value="aw" selected>' in said
    assert '<option value="moisture_db_percent" selected>' in said
    assert "0.0411" in said  # the first point on dry basis
    assert Study.objects.count() == 0


def test_a_file_that_is_none_is_refused_at_its_field(bench: Bench, client: Client) -> None:
    for content, name in ((b"\xff\xfea\x00", "a.csv"), (b"PK\x03\x04", "a.xlsx"), (b"aw\n", "a.csv")):
        answer = bench.client(client).post(
            reverse("study_new"), {"act": "look", "product": bench.product.pk, "file": b.chosen(content, name)}
        )
        assert answer.status_code == 422, name
        assert 'id="file-error">' in answer.content.decode()


def test_more_than_500_rows_are_refused(bench: Bench) -> None:
    with pytest.raises(InputError, match="at most 500"):
        rows_of("a.csv", b"aw,x\n" + b"0.5,0.1\n" * 501)


def test_script_text_in_headings_and_names_is_shown_as_text(bench: Bench, client: Client) -> None:
    bad = "<script>alert(1)</script>"
    content = f'"{bad}",moisture db %\n0.113,4.11\n0.9,{bad}\n'.encode()
    answer = bench.client(client).post(
        reverse("study_new"),
        b.form(bench.product, content, columns_a_w=bad, formula_version=bad, file_name=f"{bad}.csv"),
    )
    assert b"<script>alert" not in answer.content
    assert b"&lt;script&gt;alert(1)" in answer.content
