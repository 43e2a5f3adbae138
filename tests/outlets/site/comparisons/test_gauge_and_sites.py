"""Gauge studies and sister sites: tables in, answers out, refusals at the table."""

from __future__ import annotations

import io

import pytest
import xlsxwriter
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from tests.outlets.site.browse import sign_in
from tests.outlets.site.lots.bench_day import Bench

from isohume.outlets.site.comparisons.models import GaugeStudy, SiteComparison
from isohume.outlets.validate.check import read_table

# the textbook's gauge study (precision.csv), its readings brought down to the range of a_w by a factor of 100
TEXT = next(row["inputs"] for row in read_table("precision") if row["example"].startswith("gauge"))
ROWS = [
    (part, analyst, f"{float(value) / 100:.2f}")
    for part, cells in enumerate(TEXT.split(";"), start=1)
    for analyst, cell in zip("ABC", cells.split("|"), strict=True)
    for value in cell.split()
]


def csv_of(rows: list[tuple], head: str = "part,analyst,reading") -> SimpleUploadedFile:
    """A file as a laboratory writes it."""
    return SimpleUploadedFile("readers.csv", "\n".join([head, *(",".join(map(str, row)) for row in rows)]).encode())


def xlsx_of(rows: list[tuple]) -> SimpleUploadedFile:
    """The same as a worksheet."""
    held = io.BytesIO()
    with xlsxwriter.Workbook(held, {"in_memory": True}) as book:
        sheet = book.add_worksheet()
        for number, row in enumerate([("part", "analyst", "reading"), *rows]):
            sheet.write_row(number, 0, [str(cell) for cell in row])
    return SimpleUploadedFile("readers.xlsx", held.getvalue())


@pytest.mark.parametrize("make", [csv_of, xlsx_of])
def test_the_textbook_through_the_page(bench: Bench, client: Client, make: object) -> None:
    sign_in(client, bench.analyst)
    typed = {"title": "Three inspectors", "who": "analyst", "file": make(ROWS)}  # type: ignore[operator]
    answer = client.post(reverse("gauge_new"), typed)
    study = GaugeStudy.objects.get()
    assert answer.status_code == 302
    page = client.get(study.get_absolute_url()).content.decode()
    # Montgomery 2009: gauge 1.80 of 48.29 + 1.80 = 3.60 %; repeatability 0.51: s 0.715; seven categories
    assert "3.60 % of the variance" in page
    assert "0.00715" in page
    assert "Groups of parts told apart</dt><dd>7" in page
    assert "Reading adds something" in page


def test_the_same_readings_come_once(bench: Bench, client: Client) -> None:
    sign_in(client, bench.analyst)
    for _ in range(2):
        answer = client.post(reverse("gauge_new"), {"title": "T", "who": "analyst", "file": csv_of(ROWS)})
    assert answer.status_code == 422
    assert "are the gauge study T already" in answer.content.decode()
    assert GaugeStudy.objects.count() == 1


def test_analyst_and_instrument_together(bench: Bench, client: Client) -> None:
    sign_in(client, bench.analyst)
    rows = [
        (part, who, meter, f"{0.6 + 0.01 * part + 0.001 * again:.3f}")
        for part in (1, 2, 3)
        for who in "AB"
        for meter in ("OW-1", "OW-2")
        for again in (0, 1)
    ]
    file = csv_of(rows, "part,analyst,instrument,reading")
    client.post(reverse("gauge_new"), {"title": "Both", "who": "both", "file": file})
    assert {who for _, who, _ in GaugeStudy.objects.get().readings} == {
        f"{who} on {meter}" for who in "AB" for meter in ("OW-1", "OW-2")
    }


@pytest.mark.parametrize(
    ("rows", "who", "said"),
    [
        (ROWS[:-1], "analyst", "parts read 2 to 3 times"),
        ([*ROWS[:-3], *(("99", "A", "0.4"),) * 3], "analyst", "every part read by everyone"),
        ([(*ROWS[0][:2], "37"), *ROWS[1:]], "analyst", "row 2"),
        (ROWS, "instrument", "a name in every row"),
        (ROWS, "", "analyst, instrument or both"),
        (ROWS[:3], "analyst", "at least two of each"),
    ],
)
def test_a_study_that_is_not_whole_is_refused(bench: Bench, client: Client, rows: list, who: str, said: str) -> None:
    sign_in(client, bench.manager)
    answer = client.post(reverse("gauge_new"), {"title": "T", "who": who, "file": csv_of(rows)})
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not GaugeStudy.objects.exists()


LIMITS = {"material": "Control crackers", "repeatability": "0.0056", "reproducibility": "0.025"}
OURS = "Harrow Lane,0.6482,0.0019,6\n"


# CD by hand: sqrt(0.025^2 - 0.0056^2 (1 - 1/12 - 1/12)) = 0.02447
@pytest.mark.parametrize(
    ("mean", "answer"), [("0.6726", "Both sites agree"), ("0.6728", "Brook End and we differ by more than chance")]
)
def test_a_sister_site_by_the_critical_difference(bench: Bench, client: Client, mean: str, answer: str) -> None:
    sign_in(client, bench.manager)
    client.post(reverse("site_comparison_new"), {**LIMITS, "lines": f"{OURS}Brook End,{mean},0.0022,6"})
    kept = SiteComparison.objects.get()
    assert kept.outcome.startswith(answer)
    page = client.get(kept.get_absolute_url()).content.decode()
    assert "0.0245" in page
    assert "Harrow Lane" in page


@pytest.mark.parametrize(
    ("lines", "more", "said"),
    [
        (OURS, {}, "2 to 30 sites"),
        (f"{OURS}Harrow lane,0.65,0.002,6", {}, "each once"),
        (f"{OURS}B,65,0.002,6", {}, "row 3"),
        (f"{OURS}B,0.65,0.2,6", {}, "0 to 0.1"),
        (f"{OURS}B,0.65,0.002,0", {}, "a whole number"),
        (f"{OURS}B,0.65,0.002,6", {"reproducibility": "0.001"}, "at least the repeatability limit"),
    ],
)
def test_what_is_wrong_with_the_sites_is_said(
    bench: Bench, client: Client, lines: str, more: dict[str, str], said: str
) -> None:
    sign_in(client, bench.manager)
    answer = client.post(reverse("site_comparison_new"), {**LIMITS, **more, "lines": lines})
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not SiteComparison.objects.exists()


def test_overview_names_each_kind_with_its_last_outcome(bench: Bench, client: Client) -> None:
    sign_in(client, bench.manager)
    empty = client.get(reverse("comparisons")).content.decode()
    assert "Nothing speaks against it" in empty
    client.post(reverse("site_comparison_new"), {**LIMITS, "lines": f"{OURS}Brook End,0.6828,0.0022,6"})
    assert "1 of them does not" in client.get(reverse("comparisons")).content.decode()
    assert reverse("comparisons") in client.get(reverse("register")).content.decode()
