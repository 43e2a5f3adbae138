"""What a manager compares: instruments, rounds, readers, sites; and blind references, which an analyst reads."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone
from tests.site.acts import Act, Words

from isohume.outlets.site.comparisons.models import BlindReference, ProficiencyRound
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.register.models import Instrument, Method, Product

MANAGER, ANALYST = "mfarrow", "rhale"
PAIRS = (
    ("Cracker", "0.352", "0.354"), ("Oat bar", "0.631", "0.634"), ("Jam", "0.812", "0.813"),
    ("Raisin", "0.552", "0.553"), ("Rusk", "0.281", "0.282"), ("Fondant", "0.744", "0.747"),
    ("Fig bar", "0.662", "0.663"), ("Wafer", "0.199", "0.200"),
)  # fmt: skip
READERS = ("R. Hale", "T. Lisle", "M. Farrow")


def comparison_acts(words: Words) -> Iterator[Act]:
    """Everything that is compared once, rounds and blind references in each of their states."""
    yield from _instruments(words)
    yield from _rounds(words)
    yield Act("gauge_study_added", "gauge_new", (), ANALYST, _study(words))
    yield from _sites(words)
    yield from _blind(words)


def _instruments(words: Words) -> Iterator[Act]:
    first, second = Instrument.objects.filter(in_use=True).order_by("pk")[:2]
    typed = {
        "first": first.pk,
        "second": second.pk,
        "product": Product.objects.earliest("pk").pk,
        "allowed": "0.005",
        "stand_in": "yes",
        "conclusion": words("Either may read this product", 500),
        "next_on": (timezone.localdate() + timedelta(days=20)).isoformat(),
    }
    lines = "\n".join(f"{words(what, 20)},{a},{b}" for what, a, b in PAIRS)
    yield Act("instrument_comparison_kept", "comparison_new", (), MANAGER, {**typed, "lines": lines})
    apart = _file(
        "what,first,second", [f"{what},{a},{float(b) + 0.006:.3f}" for what, a, b in PAIRS], "pairs.csv", words
    )
    no = {**typed, "stand_in": "no", "conclusion": words("Use the first one only", 500), "file": apart, "product": ""}
    yield Act("instrument_comparison_kept", "comparison_new", (), MANAGER, no)


def _rounds(words: Words) -> Iterator[Act]:
    today = timezone.localdate()
    for months, result in ((18, "0.6535"), (12, "0.6590"), (6, "0.6479"), (0, "0.6655")):
        typed = {
            "scheme": words("Water activity of baked goods", 120),
            "round": words(f"R{24 - months}", 60),
            "item": words("Crackers, sample 2", 120),
            "assigned": "0.6500",
            "u_assigned": "0.0010",
            "sigma_pt": "0.005",
            "result": result,
            "u_result": "0.0035",
            "instrument": Instrument.objects.earliest("pk").pk,
            "reported_on": (today - timedelta(days=30 * months + 3)).isoformat(),
            "next_on": (today + timedelta(days=25)).isoformat(),
            "e_n_counts": "no",
        }
        yield Act("proficiency_round_recorded", "round_new", (), MANAGER, typed)
        if result == "0.6590":
            said = {"cause": words("Cups filled warm", 1000), "action": words("Portions rest lidded for an hour", 1000)}
            key = ProficiencyRound.objects.latest("pk").pk
            yield Act("proficiency_round_explained", "round_explain", (key,), MANAGER, said)


def _study(words: Words) -> dict[str, object]:
    # six parts, three readers, two readings each; the numbers are invented
    rows = [
        f"{part},{reader},{(610 + 5 * part + (part * 7 + number * 4 + again * 3) % 4 + number) / 1000:.3f}"
        for part in range(1, 7)
        for number, reader in enumerate(READERS)
        for again in range(2)
    ]
    file = _file("part,analyst,reading", rows, "readers.csv", words)
    return {"title": words("Three readers on OW-1", 120), "who": "analyst", "file": file}


def _sites(words: Words) -> Iterator[Act]:
    limits = {
        "material": words("Control crackers of September", 120),
        "repeatability": "0.0056",
        "reproducibility": "0.025",
    }
    ours = "site,mean,s,n\nHarrow Lane,0.6482,0.0019,6\n"
    alike = f"{ours}{words('Brook End', 80)},0.6517,0.0022,6\nMill Yard,0.6490,0.0030,4"
    yield Act("sites_compared", "site_comparison_new", (), MANAGER, {**limits, "lines": alike})
    apart = f"{ours}Quay Side,0.6817,0.0022,6"
    yield Act("sites_compared", "site_comparison_new", (), MANAGER, {**limits, "lines": apart})


def _blind(words: Words) -> Iterator[Act]:
    instrument = Instrument.objects.filter(in_use=True).earliest("pk").pk
    for number, result in enumerate(("0.755", "0.771", "0.754", "0.754", ""), start=1):
        typed = {
            "label": words(f"BR-{number}", 60),
            "person": Person.objects.get(username=ANALYST).pk,
            "method": Method.objects.earliest("pk").pk,
            "expected": "0.753",
            "limit": "0.005",
            # hidden until it is read: what nobody sees is no hostile text
            "value_source": words("NaCl saturated, table of 1977", 200) if result else "NaCl saturated",
        }
        yield Act("blind_reference_set", "blind_new", (), MANAGER, typed)
        key = BlindReference.objects.latest("pk").pk
        if result:
            read = {"result": result, "instrument": instrument}
            yield Act("blind_reference_read", "blind_read", (key,), ANALYST, read)
        if number <= 3:
            competent = number != 2
            decided = {
                "outcome": "competent" if competent and number == 1 else "not shown",
                "lapses_on": (timezone.localdate() + timedelta(days=300)).isoformat(),
                "decision": words("Shown on a blind reference", 300),
            }
            yield Act("blind_reference_decided", "blind_decide", (key,), MANAGER, decided)


def _file(head: str, rows: list[str], name: str, words: Words) -> SimpleUploadedFile:
    called = words(name, 30).replace("</b>", "")
    called = called if called.endswith(".csv") else f"{called}.csv"
    return SimpleUploadedFile(called, "\n".join([head, *rows, ""]).encode())
