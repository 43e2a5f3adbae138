"""The page of a lot's positions, of a product's sampling, and what intake says of both."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.test import Client
from tests.outlets.site.browse import sign_in
from tests.outlets.site.lots.bench_day import judge, make_bench
from tests.outlets.site.strata.cart import NOW, POINTS, developer_of, make_cart, read_cart, save_map, save_plan

from isohume.outlets.site.bench.models import Sample
from isohume.outlets.site.lots.frozen import frozen
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.strata.models import SamplingPlan
from isohume.outlets.site.strata.positions_page import positions_page

WET = {"composite": "0.812", "rack_12_bottom_front": "0.858 0.860 0.862 0.864", "rack_1_top_rear": "0.811 0.813"}


def said(client: Client, address: str, status: int = 200) -> str:
    """What a page says, without its tags."""
    answer = client.get(address)
    assert answer.status_code == status
    text = re.sub(r"<svg.*?</svg>|<[^>]+>", " ", answer.content.decode(), flags=re.DOTALL)
    return re.sub(r"\s+", " ", text)


def test_the_worst_position_of_plant_b_decides_on_page_and_record(site_db: Path, client: Client) -> None:
    bench = make_cart()
    save_map(bench, developer_of(bench))
    lot = read_cart(bench, "AS-0916-07", **WET)
    sign_in(client, bench.analyst)
    text = said(client, f"/lots/{lot.pk}/positions/")
    assert "The worst position decides: rack 12 bottom front at 0.8610, fail." in text
    assert "Hold the lot: rack 12 bottom front is beyond the limit, whatever a mean or a composite says." in text
    assert "0.8610 n = 4 worst, beyond the limit" in text
    assert "not read, expected worst" in text
    assert "rack 12 stands out" in text
    record = judge(bench, lot)
    assert (record.verdict, record.disposition) == ("fail", "hold")
    content = frozen(record.record).content
    assert content["strata"]["worst"] == "rack 12 bottom front"
    assert content["decision"]["value"] == 0.861


def test_a_lot_that_is_alike_says_what_it_could_not_see(site_db: Path, client: Client) -> None:
    bench = make_cart()
    lot = read_cart(bench, "AS-0916-08", top="0.811 0.812", bottom="0.813 0.812")
    sign_in(client, bench.analyst)
    text = said(client, f"/lots/{lot.pk}/positions/")
    assert "No difference is seen between its 2 places: their portions are judged together." in text
    assert "no difference seen" in text
    assert "would be missed more than once in ten" in text
    assert "No position map is saved for Air-dried sausage sticks" in text


def test_a_place_whose_portions_disagree_asks_for_more_there(site_db: Path, client: Client) -> None:
    bench = make_cart()
    lot = read_cart(bench, "AS-1", top="0.811 0.812", bottom="0.830 0.838")
    sign_in(client, bench.analyst)
    text = said(client, f"/lots/{lot.pk}/positions/")
    assert "More portions are needed at bottom: the portions of that place disagree." in text
    assert "Verdict more portions needed" in text


def test_few_portions_one_place_and_none_say_so(site_db: Path, client: Client) -> None:
    bench = make_cart()
    sign_in(client, bench.auditor)
    few = read_cart(bench, "L-1", top="0.811", bottom="0.813")
    assert "2 places were read; 2 portions cannot tell a place from one bad portion." in said(
        client, f"/lots/{few.pk}/positions/"
    )
    one = read_cart(bench, "L-2", top="0.811 0.812")
    assert "at one place only, top" in said(client, f"/lots/{one.pk}/positions/")
    none = read_cart(bench, "L-3")
    assert "No portion of it was read yet." in said(client, f"/lots/{none.pk}/positions/")


def test_a_lot_beyond_the_limit_that_cannot_be_judged_still_shows_its_places(site_db: Path, client: Client) -> None:
    bench = make_cart()
    lot = read_cart(bench, "L-1", top="0.811 0.812", bottom="0.861 0.862")
    bench.opening.void_reason, bench.opening.voided_at = "wrong bottle", bench.opening.last_read_at
    bench.opening.save()
    sign_in(client, bench.analyst)
    text = said(client, f"/lots/{lot.pk}/positions/")
    assert "it cannot be judged now" in text
    assert "wrong bottle" in text
    assert "beyond the limit" in text


def test_the_calculator_answers_29_and_draws_its_curve_with_a_table(site_db: Path, client: Client) -> None:
    bench = make_cart()
    sign_in(client, bench.analyst)
    address = f"/register/products/{bench.product.pk}/sampling/"
    text = said(client, address)
    assert "29 portions; the lot passes where none of them is beyond the limit." in text
    assert 'class="across' in client.get(address).content.decode()
    assert "Lots that pass, %" in text
    assert "Save the plan: this is for developer, manager." in text
    many = "&".join(f"{name}={value}" for name, value in POINTS.items())
    assert "42 portions; the lot passes where their mean and 1.901" in said(client, f"{address}?kind=variables&{many}")
    wrong = said(client, f"{address}?kind=attributes&{many.replace('lq_percent=6', 'lq_percent=0.5')}", 422)
    assert "above the AQL" in wrong


def test_a_saved_plan_is_shown_and_intake_goes_by_it(site_db: Path, client: Client) -> None:
    bench = make_cart()
    developer = developer_of(bench)
    save_map(bench, developer)
    sign_in(client, developer)
    posted = {"kind": "attributes", **POINTS, "reason": "a wet twentieth must be seen"}
    answer = client.post(f"/register/products/{bench.product.pk}/sampling/", posted)
    plan = SamplingPlan.objects.get()
    assert answer["Location"] == plan.get_absolute_url()
    assert f"{plan.n} portions" in said(client, plan.get_absolute_url())
    assert client.post(f"/register/products/{bench.product.pk}/sampling/", {**posted, "reason": ""}).status_code == 422
    lot = read_cart(bench, "AS-1", rack_12_bottom_front="0.811 0.812")
    client.logout()
    sign_in(client, bench.analyst)
    page = said(client, f"/samples/new/?lot={lot.code}")
    assert f"2 of {plan.n} portions taken" in page
    assert "Next place: rack 12 top rear" in page
    assert "rack 12 bottom front (expected worst, taken)" in page
    taken = {"lot": lot.code, "place": "rack 12 top rear", "sealed": "yes", "portions": "1", "cover": "lidded"}
    assert client.post("/samples/new/", taken).status_code == 302
    assert Sample.objects.latest("pk").position == "rack 12 top rear"
    named = client.post("/samples/new/", {**taken, "position": "composite"})
    assert named.status_code == 302
    assert Sample.objects.latest("pk").position == "composite"  # what is named goes before the map's choice


def test_a_plan_of_a_small_lot_is_drawn_with_its_whole_units(site_db: Path, client: Client) -> None:
    bench = make_cart()
    sign_in(client, bench.manager)
    asked = "kind=seeing a wet fraction&fraction_percent=10&confidence_percent=95&lot_size=36"
    text = said(client, f"/register/products/{bench.product.pk}/sampling/?{asked}")
    assert "19 portions" in text
    plan = save_plan(bench, bench.manager, **dict(pair.split("=") for pair in asked.split("&")))
    missed = 1.0
    for k in range(19):  # four wet ones of 36 places: none of 19 draws is one of them
        missed *= (32 - k) / (36 - k)
    assert missed < 0.05
    assert f"10 {100 * missed:.2f} wet fraction to be seen" in said(client, plan.get_absolute_url())


def test_an_old_version_says_that_a_later_one_is_in_force(site_db: Path, client: Client) -> None:
    bench = make_cart()
    developer = developer_of(bench)
    old_map, old_plan = save_map(bench, developer), save_plan(bench, developer)
    new_map, new_plan = save_map(bench, developer, worst=""), save_plan(bench, developer, kind="attributes", **POINTS)
    sign_in(client, bench.auditor)
    for old, new in ((old_map, new_map), (old_plan, new_plan)):
        assert "A later version is in force." in said(client, old.get_absolute_url())
        assert "A later version is in force." not in said(client, new.get_absolute_url())


def test_the_pages_of_another_plant_are_not_found(site_db: Path, client: Client) -> None:
    bench, other = make_cart(), make_bench("elsewhere")
    lot = read_cart(bench, "L-1", top="0.811")
    places = [f"/lots/{lot.pk}/positions/"]
    places += [f"/register/products/{bench.product.pk}/{page}/" for page in ("positions", "sampling")]
    places += [save_map(bench, bench.manager).get_absolute_url(), save_plan(bench, bench.manager).get_absolute_url()]
    sign_in(client, other.analyst)
    for place in places:
        assert client.get(place).status_code == 404


@pytest.mark.parametrize("position", ['<b onmouseover="x">', "rack 1 \N{RIGHT-TO-LEFT OVERRIDE}top"])
def test_a_hostile_place_is_text(site_db: Path, client: Client, position: str) -> None:
    bench = make_cart()
    lot = read_cart(bench, "L-1", top="0.811 0.812", **{position: "0.861 0.862"})
    sign_in(client, bench.analyst)
    assert "<b onmouseover" not in client.get(f"/lots/{lot.pk}/positions/").content.decode()


def test_judging_for_the_page_keeps_nothing(site_db: Path) -> None:
    bench = make_cart()
    lot = read_cart(bench, "AS-0916-07", **WET)
    page = positions_page(lot, NOW)
    assert page.strata is not None
    assert page.strata.probability_all is not None
    assert not LotRecord.objects.exists()
