"""What is bought and what is brought: limits, a supplier's lots, spreadsheets of the time before, a cited heat."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from django.core.files.uploadedfile import SimpleUploadedFile
from tests.site.acts import BY_ROLE, Act, Words

from isohume.outlets.site.incoming.models import SupplierLot, SupplierMaterial
from isohume.outlets.site.register.models import Instrument, Product

ANALYST, MANAGER, OFFICER = BY_ROLE["analyst"], BY_ROLE["manager"], BY_ROLE["release officer"]
DEVELOPER = BY_ROLE["developer"]


def incoming_acts(words: Words) -> Iterator[Act]:
    """One material, four lots of it in every state, two spreadsheets, a heat."""
    yield from _supplier_acts(words)
    yield from _history_acts(words)
    heat = {"value_kj_mol": "3.0", "u_kj_mol": "0.5", "low_c": "15", "high_c": "35", "low_a_w": "0.55"}
    more = {"high_a_w": "0.75", "formula_version": words("7", 20), "source": words("A handbook, table 4", 300)}
    product = Product.objects.get(name="Soft oat bar")
    yield Act("heat_kept", "heat_new", (product.pk,), DEVELOPER, {**heat, **more, "reason": words("Same oats", 300)})


def _supplier_acts(words: Words) -> Iterator[Act]:
    limits = {"supplier": words("Quayside Growers", 80), "material": words("Oat flakes", 80), "moisture_max": "10.5"}
    more = {"moisture_basis": "wet", "a_w_max": "0.60", "temperature_c": "25", "source": words("Purchase spec", 300)}
    yield Act("material_limits_set", "suppliermaterial_new", (), MANAGER, {**limits, **more})
    material = SupplierMaterial.objects.latest("pk").pk
    for number, (ours, state) in enumerate((("10.0", "accept"), ("11.2", "reject"), ("9.9", "hold"), ("", ""))):
        certificate = {"certificate_moisture": "11.1", "certificate_basis": "dry", "certificate_a_w": "0.52"}
        lot = {"material": material, "code": words(f"QF-{number}", 40) + str(number), **certificate}
        more = {"certificate": words("COA", 120), "certificate_u_moisture": "0.1", "certificate_temperature_c": "25"}
        yield Act("supplier_lot_received", "supplierlot_new", (), ANALYST, {**lot, **more})
        key = SupplierLot.objects.latest("pk").pk
        if ours:
            found = {"method": words("Oven, 105 degC", 120), "moisture": ours, "basis": "wet", "u_moisture": "0.1"}
            read = {"a_w": "0.531", "u_a_w": "0.004", "temperature_c": "25", "portions": "2"}
            yield Act("supplier_lot_determined", "supplierlot_determine", (key,), ANALYST, {**found, **read})
            reason = {"reason": words("Compared with the certificate", 300)}
            yield Act("supplier_lot_decided", "supplierlot_decide", (key, state), OFFICER, reason)


def _history_acts(words: Words) -> Iterator[Act]:
    checks = "Day,Solution,Expected,Read\n2025-03-03,NaCl,0.753,0.752\n2025-03-04,NaCl,0.753,0.751\n"
    typed = {"kind": "checks", "instrument": Instrument.objects.earliest("pk").pk}
    mapped = {"columns_date": "Day", "columns_reference": "Solution", "columns_expected_a_w": "Expected"}
    name = {"columns_a_w": "Read", "name_of_mapping": words("Bench book", 80)}
    mapping = {**typed, **mapped, **name, "act": "map", "file": SimpleUploadedFile("checks.csv", checks.encode())}
    yield Act("historic_mapping_saved", "history_new", (), MANAGER, mapping)
    lots = _table(
        ("date", "product", "component", "lot", "a_w", "second_a_w"),
        *(
            (f"2025-03-{day:02}", "Soft oat bar", "", words(f"OLD-{day}", 40), f"0.63{day % 10}", f"0.63{9 - day % 10}")
            for day in range(1, 13)
        ),
    )
    bring = {"kind": "lots", "act": "bring", "origin": words("Bench book 2025, kept by the bench", 300)}
    yield Act("history_brought", "history_new", (), MANAGER, {**bring, "file": _file(lots, words)})
    own = "date,reference,expected_a_w,a_w,temperature_c\n2025-03-05,NaCl,0.753,0.750,25.0\n"
    yield Act("history_brought", "history_new", (), MANAGER, {**bring, **typed, "file": _file(own, words)})


def _table(*rows: tuple[str, ...]) -> str:
    """Rows as a spreadsheet writes them, whatever signs a cell holds."""
    body = io.StringIO()
    csv.writer(body).writerows(rows)
    return body.getvalue()


def _file(body: str, words: Words) -> SimpleUploadedFile:
    name = words("past.csv", 30).replace("</b>", "")
    return SimpleUploadedFile(name if name.endswith(".csv") else f"{name}.csv", body.encode())
