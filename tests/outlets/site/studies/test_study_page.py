"""The page of a study: the answer first, moved by the form; refused outside what was measured."""

from __future__ import annotations

import html
import re

import pymupdf
import pytest
from django.test import Client
from django.urls import reverse
from tests.outlets.site import make
from tests.outlets.site.studies import bench as b
from tests.outlets.site.studies.bench import BACKEND, Bench

from isohume.outlets.site.ledger.actions import perform
from isohume.outlets.site.people.roles import MANAGER

SAYS = re.compile(r'<h1 class="says[^>]*>.*?<span>(.*?)</span></h1>', re.DOTALL)


def shown(client: Client, address: str, **asked: str) -> str:
    """A page as text."""
    answer = client.get(address, asked)
    assert answer.status_code == 200
    return html.unescape(answer.content.decode())


def said(page: str) -> str:
    """The answer of a page."""
    found = SAYS.search(page)
    assert found
    return found[1]


def test_the_answer_first_with_both_bases_and_its_level(bench: Bench, client: Client) -> None:
    study = bench.fitted()
    page = shown(bench.client(client), study.get_absolute_url(), a_w_limit="0.60")
    answer = re.fullmatch(
        r"Moisture limit for a_w 0\.60: ([\d.]+) to ([\d.]+) kg/kg dry basis \(([\d.]+) to ([\d.]+) % wet basis\)",
        said(page),
    )
    assert answer
    low, high, wet_low, wet_high = map(float, answer.groups())
    assert 0.11 < low < high < 0.13  # GAB of 0.060, 12, 0.90 has 0.1218 at 0.60
    assert wet_low == pytest.approx(100 * low / (1 + low), abs=0.06)
    assert wet_high == pytest.approx(100 * high / (1 + high), abs=0.06)
    assert "95 % interval of the curve, adsorption at 25.0 °C, formula 7" in page
    assert "Keep at or below 0.1" in page
    assert page.count("How do we know") >= 6
    assert "Monolayer by BET" in page
    assert "Monolayer by GAB" in page


def test_it_starts_at_the_product_s_own_limit(bench: Bench, client: Client) -> None:
    assert "for a_w 0.650:" in said(shown(bench.client(client), bench.fitted().get_absolute_url()))


def test_a_higher_assurance_keeps_lower_and_a_guard_lower_still(bench: Bench, client: Client) -> None:
    dev, place = bench.client(client), bench.fitted().get_absolute_url()

    def keep(**asked: str) -> float:
        found = re.search(r"Keep at or below ([\d.]+) kg/kg", shown(dev, place, a_w_limit="0.60", **asked))
        assert found
        return float(found[1])

    plain = keep(level="95")
    assert keep(level="99") < plain < keep(level="90")
    assert keep(guard="0.02") < plain
    assert keep(moisture_u="0.4") < plain


@pytest.mark.parametrize(
    ("asked", "field", "words"),
    [
        ({"a_w_limit": "0.95"}, "a_w_limit", "0.113 to 0.843, the range that was fitted"),
        ({"a_w_limit": "60"}, "a_w_limit", "was ERH in percent meant"),
        ({"a_w_limit": ""}, "a_w_limit", "fraction greater than 0"),
        ({"temperature_c": "35"}, "temperature_c", "25.0 degC, as measured"),
        ({"temperature_c": "hot"}, "temperature_c", "degrees Celsius"),
        ({"direction": "desorption"}, "direction", "adsorption: nothing else was measured"),
        ({"level": "100"}, "level", "90 % or 95 % or 99 %"),
        ({"guard": "0.5"}, "guard", "0 to 0.1"),
        ({"moisture_u": "-1"}, "moisture_u", "0 to 5"),
    ],
)
def test_what_it_does_not_answer_is_refused_at_its_field(
    bench: Bench, client: Client, asked: dict[str, str], field: str, words: str
) -> None:
    page = shown(bench.client(client), bench.fitted().get_absolute_url(), **asked)
    assert said(page) == "No answer to what is asked"
    error = re.search(rf'id="{field}-error"[^>]*>(.*?)</span></span>', page, re.DOTALL)
    assert error
    assert words in error[1]


def test_the_other_direction_is_another_answer(bench: Bench, client: Client) -> None:
    dev, place = bench.client(client), bench.both().get_absolute_url()
    taken_up, given_off = (
        said(shown(dev, place, a_w_limit="0.50", direction=one)) for one in ("adsorption", "desorption")
    )
    assert taken_up != given_off
    page = shown(dev, place)
    assert page.count('class="desorption"') > 10  # both are on the picture


def test_all_eleven_models_stand_side_by_side_with_their_sources(bench: Bench, client: Client) -> None:
    page = shown(bench.client(client), bench.fitted().get_absolute_url())
    names = (
        "GAB",
        "BET",
        "Oswin",
        "Halsey",
        "Henderson",
        "Chung-Pfost",
        "Smith",
        "Peleg",
        "Iglesias-Chirife",
        "Caurie",
    )
    for name in (*names, "Lewicki"):
        assert f'<th scope="row">{name}' in page, name
    monolayer = re.search(r"monolayer_db ([\d.]+) kg/kg \(u ([\d.]+)\)", page)
    assert monolayer
    assert float(monolayer[1]) == pytest.approx(0.060, abs=3 * float(monolayer[2]))  # of the invented bar
    assert "Equations and sources" in page


def test_a_study_that_waits_says_so_and_asks_again(bench: Bench, client: Client) -> None:
    study = perform(bench.adding(), bench.by())
    page = shown(bench.client(client), study.get_absolute_url())
    assert said(page) == "The points are being fitted"
    assert 'hx-trigger="every 1s"' in page
    assert "waiting for the worker" in page


def test_asked_both_ways_and_refused_for_another_recipe(bench: Bench, client: Client) -> None:
    dev, study = bench.client(client), bench.fitted()
    for place in (study.get_absolute_url(), bench.kept(study).get_absolute_url()):
        page = shown(dev, place, ask_a_w="0.50", ask_moisture="10.0", ask_basis="moisture_wb_percent")
        assert "Moisture at a_w 0.50" in page
        assert re.search(r"a_w at 0\.111\d? kg/kg dry basis \(10\.0\d? % wet basis\)", page)
        for asked, words in (
            ({"ask_formula": "8"}, "measured on formula version 7; about 8 it says nothing"),
            ({"ask_direction": "desorption"}, "measured in adsorption; in desorption"),
            ({"ask_temperature_c": "35.0"}, "measured at 25.0 degC; at 35 degC it says nothing"),
        ):
            refused = shown(dev, place, ask_a_w="0.50", **asked)
            assert words in refused
            assert "Moisture at a_w" not in refused
        beyond = shown(dev, place, ask_a_w="0.97")
        assert "0.113 to 0.843, the range that was fitted" in beyond
        wet = shown(dev, place, ask_moisture="60")
        assert "the range that was fitted" in wet


def test_the_sheet_says_the_same_as_the_page(bench: Bench, client: Client) -> None:
    dev, study = bench.client(client), bench.both()
    page = shown(dev, study.get_absolute_url(), a_w_limit="0.55", level="90")
    answer = dev.get(reverse("study_sheet", args=[study.pk]), {"a_w_limit": "0.55", "level": "90"})
    assert answer["Content-Type"] == "application/pdf"
    with pymupdf.open(stream=answer.content, filetype="pdf") as paper:
        text = " ".join(" ".join(one.get_text().split()) for one in paper)
        assert f"page 1 of {len(paper)}" in text
    numbers = re.findall(r"[\d.]+ to [\d.]+", said(page))
    assert all(found in text for found in numbers)
    assert study.result_sha256 in text
    assert "Not kept as the product's isotherm." in text
    bench.kept(study)
    again = dev.get(reverse("study_sheet", args=[study.pk]))
    with pymupdf.open(stream=again.content, filetype="pdf") as paper:
        assert "Kept as version 1, signed by Dev." in " ".join(paper[0].get_text().split())


def test_the_raw_file_comes_back_as_it_was(bench: Bench, client: Client) -> None:
    answer = bench.client(client).get(reverse("study_file", args=[bench.fitted().pk]))
    assert answer.content == b.points_csv()
    assert re.fullmatch(r'attachment; filename="study-\d+-points.csv"', answer["Content-Disposition"])


def test_another_plant_sees_nothing_of_it(bench: Bench, client: Client) -> None:
    study = bench.fitted()
    kept = bench.kept(study)
    stranger = make.make_person(make.make_site("mill"), MANAGER, username="stranger")
    client.force_login(stranger, BACKEND)
    for name in ("study", "study_keep", "study_sheet", "study_file"):
        assert client.get(reverse(name, args=[study.pk])).status_code == 404, name
    assert client.post(reverse("study_fit", args=[study.pk])).status_code == 404
    assert client.get(kept.get_absolute_url()).status_code == 404
    assert bench.product.name not in shown(client, reverse("studies"))


def test_the_list_says_what_came_of_each(bench: Bench, client: Client) -> None:
    dev = bench.client(client)
    assert "No study yet" in shown(dev, reverse("studies"))
    bench.fitted(b.steps_csv())
    perform(bench.adding(), bench.by())
    page = shown(dev, reverse("studies"))
    assert "no model describes the points" in page
    assert "being fitted" in page
    assert "No product that has a study" in shown(dev, reverse("studies"), text="gingerbread")
