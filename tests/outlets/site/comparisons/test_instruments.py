"""Two instruments: the pairs that count, the answer, keeping it; mean difference and interval against scipy."""

from __future__ import annotations

import base64
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from scipy import stats
from tests.outlets.site.browse import sign_in
from tests.outlets.site.lots.bench_day import Bench, key_again, make_lot, make_portion, make_run

from isohume.foundation.quantity import InputError
from isohume.outlets.site.bench.models import Run, SecondKeying
from isohume.outlets.site.comparisons.actions.keep_comparison import KeepComparison
from isohume.outlets.site.comparisons.agreement import agreement_of
from isohume.outlets.site.comparisons.models import InstrumentComparison
from isohume.outlets.site.comparisons.pairs import Pair, pairs_of_site
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.register.models import Instrument

READ = ((0.612, 0.614), (0.633, 0.634), (0.648, 0.651), (0.655, 0.656), (0.671, 0.674), (0.689, 0.690))


@pytest.fixture
def both_read(bench: Bench, second: Instrument) -> list[tuple[float, float]]:
    """Six lots, each with a portion read on either instrument today, keyed twice."""
    now = timezone.now() - timedelta(hours=1)
    for number, (a, b) in enumerate(READ):
        lot = make_lot(bench, f"SB-{number}")
        for letter, value, meter in (("A", a, bench.instrument), ("B", b, second)):
            make_run(bench, make_portion(bench, lot.samples.get(), letter), f"{value:.3f}", now, instrument=meter)
        key_again(bench, lot)
    return list(READ)


def test_page_shows_mean_difference_and_interval(bench: Bench, client: Client, both_read: list) -> None:
    sign_in(client, bench.manager)
    text = client.get(reverse("instrument_comparisons")).content.decode()
    a, b = zip(*both_read, strict=True)
    low, high = stats.ttest_rel(a, b).confidence_interval(0.95)
    assert "They may stand in for each other" in text
    for number in (sum(a) / 6 - sum(b) / 6, low, high):
        assert f"{number:+.4f}".replace("-", "\N{MINUS SIGN}") in text
    assert text.count("<svg ") >= 4  # both pictures, each for a wide and a narrow page
    assert "The same as a table" in text


def test_a_number_that_waits_for_its_second_keying_is_in_no_pair(
    bench: Bench, second: Instrument, both_read: list
) -> None:
    since = timezone.now() - timedelta(days=1)
    assert len(pairs_of_site(bench.site, bench.instrument, second, since)) == 6
    SecondKeying.objects.filter(run=Run.objects.earliest("pk")).delete()
    assert len(pairs_of_site(bench.site, bench.instrument, second, since)) == 5
    Run.objects.filter(pk=Run.objects.latest("pk").pk).update(void_reason="spilled")
    assert len(pairs_of_site(bench.site, bench.instrument, second, since)) == 4


@pytest.mark.parametrize(
    ("bias", "answer"),
    [(0.001, "They may stand in"), (0.008, "They may not stand in"), (0.0048, "Not shown yet")],
)
def test_the_whole_interval_must_lie_within_what_is_allowed(bias: float, answer: str) -> None:
    pairs = [Pair(str(i), x + bias, x + 0.0006 * (-1) ** i) for i, x in enumerate((0.3, 0.5, 0.6, 0.7, 0.8, 0.85))]
    assert agreement_of(pairs, 0.005, "0.002").answer.startswith(answer)


def test_readings_that_agree_on_average_only_do_not_stand_in() -> None:
    apart = [Pair(str(i), 0.6 + 0.02 * (-1) ** i, 0.6) for i in range(100)]
    for s_r in ("0.002", ""):
        found = agreement_of(apart, 0.005, s_r)
        assert not found.stand_in
        assert found.answer.endswith("alike on average, not one by one")
    assert "up to 0.0394" in " ".join(agreement_of(apart, 0.005, "").reasons)  # 1.96 times 0.0201


def test_a_difference_that_grows_along_the_scale_does_not_stand_in() -> None:
    read = (0.3, 0.45, 0.6, 0.75, 0.9)
    grows = [Pair(str(i), x, x + 0.06 * (x - 0.6) + 0.0002 * (-1) ** i) for i, x in enumerate(read)]
    found = agreement_of([*grows, *grows], 0.015, "0.02")
    assert abs(found.paired.mean) < 0.0005
    assert not found.stand_in
    assert "By the line through the pairs they differ by" in " ".join(found.reasons)


def test_three_pairs_without_any_scatter_show_nothing() -> None:
    found = agreement_of([Pair(str(i), 0.6 + 0.1 * i, 0.601 + 0.1 * i) for i in range(3)], 0.005, "")
    assert not found.stand_in
    assert found.answer == "Not shown yet: so few pairs show no scatter"
    assert "the same in every pair" in found.reasons[0]


def test_yes_is_refused_where_the_pairs_do_not_show_it(bench: Bench, second: Instrument, both_read: list) -> None:
    words = ("yes", "Either may read it", "")
    asked = (bench.site, str(bench.instrument.pk), str(second.pk), bench.product, "1")
    with pytest.raises(InputError, match="stand_in: read 'yes'; allowed: no"):
        perform(KeepComparison(*asked, "0.001", *words), By(bench.manager, timezone.now()))
    kept = perform(KeepComparison(*asked, "0.005", *words), By(bench.manager, timezone.now()))
    assert kept.pairs[0] == ["SB-0 / 1", "0.612", "0.614", "1", "1"]
    assert (kept.stand_in, kept.s_r) == (True, "0.0020")
    with pytest.raises(InputError, match="look again"):
        perform(KeepComparison(*asked, "0.005", *words, seen="5"), By(bench.manager, timezone.now()))
    with pytest.raises(Refused):
        perform(KeepComparison(*asked, "0.005", *words), By(bench.analyst, timezone.now()))


def test_pairs_from_a_file_are_looked_at_and_then_kept(bench: Bench, second: Instrument, client: Client) -> None:
    sign_in(client, bench.manager)
    rows = ["what,first,second", *(f"Material {i},{a},{b}" for i, (a, b) in enumerate(READ))]
    file = SimpleUploadedFile("pairs.csv", "\n".join(rows).encode())
    typed = {"first": bench.instrument.pk, "second": second.pk, "allowed": "0.005", "product": ""}
    looked = client.post(reverse("comparison_new"), {**typed, "act": "look", "file": file})
    assert "They may stand in for each other" in looked.content.decode()
    assert not InstrumentComparison.objects.exists()
    carried = {"file_name": "pairs.csv", "content": base64.b64encode("\n".join(rows).encode()).decode()}
    assert carried["content"] in looked.content.decode()
    client.post(reverse("comparison_new"), {**typed, **carried, "stand_in": "yes", "conclusion": "Either"})
    kept = InstrumentComparison.objects.get()
    assert (kept.source, len(kept.pairs), kept.outcome) == ("pairs.csv", 6, "They may stand in for each other")
    page = client.get(kept.get_absolute_url()).content.decode()
    assert "Material 3" in page


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ("Cracker,0.352,35.4", "row 2"),
        ("Cracker,0.352,0.354", "at least 3 materials"),
        ("", "a file, or lines typed below it"),
        ("Cracker,0.352", "second"),
    ],
)
def test_what_is_wrong_with_a_table_stands_at_it(
    bench: Bench, second: Instrument, client: Client, lines: str, said: str
) -> None:
    sign_in(client, bench.manager)
    typed = {"first": bench.instrument.pk, "second": second.pk, "allowed": "0.005", "act": "look", "lines": lines}
    answer = client.post(reverse("comparison_new"), typed)
    assert answer.status_code == 422
    assert said in answer.content.decode()
