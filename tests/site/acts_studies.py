"""What a developer does: points of a product, fitted, fitted again, kept as its isotherm."""

from __future__ import annotations

from collections.abc import Iterator

from django.core.files.uploadedfile import SimpleUploadedFile
from tests.site.acts import Act, Words

from isohume.outlets.site.register.models import Product
from isohume.outlets.site.studies.models import Study
from isohume.outlets.site.work.worker import do_next

DEVELOPER = "jsorrel"
A_W = ("0.113", "0.225", "0.328", "0.432", "0.529", "0.577", "0.689", "0.753", "0.806", "0.843")
ADSORBED = ("4.11", "5.78", "7.33", "8.60", "10.62", "11.54", "14.72", "17.68", "20.70", "23.52")
DESORBED = ("5.05", "6.86", "8.48", "9.93", "12.02", "13.07", "16.15", "18.88", "21.50", "23.90")
STEPS = ("0.30", "0.31", "0.33", "0.34", "9.50", "9.55", "9.61", "9.70", "9.80", "9.95")
MAPPED = {
    "act": "add",
    "columns_a_w": "aw",
    "columns_moisture": "moisture db %",
    "basis": "moisture_db_percent",
    "temperature_c": "25.0",
}


def study_acts(password: str, words: Words) -> Iterator[Act]:
    """Two studies, the first one kept; the worker does its part between them."""
    product = Product.objects.get(name="Soft oat bar").pk
    both = _file([*_rows(ADSORBED, "adsorption"), *_rows(DESORBED, "desorption")], ",direction", words)
    loop = {**MAPPED, "product": product, "columns_direction": "direction", "formula_version": words("7", 20)}
    yield Act("study_added", "study_new", (), DEVELOPER, {**loop, "file": both})
    work()
    key = Study.objects.latest("pk").pk
    yield Act("study_fit_asked", "study_fit", (key,), DEVELOPER)
    work()
    study = Study.objects.get(pk=key)
    kept = {"set": "adsorption 25.0", "result": study.result_sha256, "password": password}
    yield Act("isotherm_kept", "study_keep", (key,), DEVELOPER, {**kept, "reason": words("First isotherm", 300)})
    step = {**MAPPED, "product": product, "direction": "adsorption", "formula_version": words("8", 20)}
    yield Act("study_added", "study_new", (), DEVELOPER, {**step, "file": _file(_rows(STEPS), "", words)})
    work()


def work() -> None:
    """What waits is done as the worker does it."""
    while do_next():
        pass


def _rows(moisture: tuple[str, ...], direction: str = "") -> list[str]:
    more = f",{direction}" if direction else ""
    return [f"{a_w},{m}{more}" for a_w, m in zip(A_W, moisture, strict=True)]


def _file(rows: list[str], more: str, words: Words) -> SimpleUploadedFile:
    name = words("points.csv", 30).replace("</b>", "")
    name = name if name.endswith(".csv") else f"{name}.csv"
    return SimpleUploadedFile(name, "\n".join([f"aw,moisture db %{more}", *rows, ""]).encode())
