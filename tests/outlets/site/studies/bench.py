"""What the tests of studies share: points of an invented bar, and the acts as a page does them."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone
from tests.outlets.site.make import PASSWORD

from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.people.proof import prove_by_password
from isohume.outlets.site.register.models import Product
from isohume.outlets.site.studies.actions.add_study import AddStudy
from isohume.outlets.site.studies.actions.keep_isotherm import KeepIsotherm
from isohume.outlets.site.studies.models import Isotherm, Study
from isohume.outlets.site.work.worker import do_next

BACKEND = "django.contrib.auth.backends.ModelBackend"
A_W = (0.113, 0.225, 0.328, 0.432, 0.529, 0.577, 0.689, 0.753, 0.806, 0.843)
# GAB with monolayer 0.060, C 12, K 0.90, and a scatter of about 0.0006 kg/kg made up once
ADSORBED = (4.11, 5.78, 7.33, 8.60, 10.62, 11.54, 14.72, 17.68, 20.70, 23.52)
DESORBED = (5.05, 6.86, 8.48, 9.93, 12.02, 13.07, 16.15, 18.88, 21.50, 23.90)
COLUMNS = {"a_w": "aw", "moisture": "moisture db %"}


def points_csv(
    rows: tuple[float, ...] = ADSORBED, a_w: tuple[float, ...] = A_W, head: str = "aw,moisture db %"
) -> bytes:
    """A file as a laboratory writes it."""
    return "\n".join([head, *(f"{a},{m}" for a, m in zip(a_w, rows, strict=True)), ""]).encode()


def both_ways() -> bytes:
    """Adsorption and desorption in one file."""
    rows = [f"{a},{m},adsorption" for a, m in zip(A_W, ADSORBED, strict=True)]
    rows += [f"{a},{m},desorption" for a, m in zip(A_W, DESORBED, strict=True)]
    return "\n".join(["aw,moisture db %,direction", *rows, ""]).encode()


def steps_csv() -> bytes:
    """A step isotherm, of a crystal that takes up its water at once: no model of the panel describes it."""
    moisture = (0.30, 0.31, 0.33, 0.34, 9.50, 9.55, 9.61, 9.70, 9.80, 9.95)
    return points_csv(moisture)


@dataclass
class Bench:
    """A plant with its people and a product."""

    site: Site
    product: Product
    people: dict[str, Person]

    def by(self, who: str = "dev", at: datetime | None = None) -> By:
        """Somebody, now."""
        return By(self.people[who], at or timezone.now())

    def client(self, client: Client, who: str = "dev") -> Client:
        """That person's browser."""
        client.force_login(self.people[who], BACKEND)
        return client

    def adding(self, content: bytes = b"", **more: Any) -> AddStudy:
        """The action with what a form would give it."""
        given: dict[str, Any] = {
            "columns": COLUMNS,
            "basis": "moisture_db_percent",
            "formula_version": "7",
            "direction": "adsorption",
            "temperature_c": "25.0",
            "file_name": "bar-points.csv",
            **more,
        }
        return AddStudy(self.product, content=content or points_csv(), **given)

    def fitted(self, content: bytes = b"", **more: Any) -> Study:
        """A study that the worker has done."""
        study = perform(self.adding(content, **more), self.by())
        while do_next():
            pass
        study.refresh_from_db()
        assert study.job is not None
        assert study.job.state == "done", study.job.message
        return study

    def both(self) -> Study:
        """A study of both directions."""
        columns = {**COLUMNS, "direction": "direction"}
        return self.fitted(both_ways(), columns=columns, direction="", file_name="loop.csv")

    def keeping(self, study: Study, who: str = "dev", **more: Any) -> KeepIsotherm:
        """The signature as its page gives it."""
        by = self.by(who)
        given: dict[str, Any] = {
            "direction": "adsorption",
            "temperature_c": "25.0",
            "result_sha256": study.result_sha256,
            "reason": "First isotherm of this recipe",
            "proof": prove_by_password(by.person, PASSWORD, by.at),
            **more,
        }
        return KeepIsotherm(study, **given)

    def kept(self, study: Study, **more: Any) -> Isotherm:
        """A kept isotherm."""
        return perform(self.keeping(study, **more), self.by())


def form(product: Product, content: bytes = b"", **more: Any) -> dict[str, Any]:
    """The form of a new study, its file carried along."""
    given = {
        "act": "add",
        "product": str(product.pk),
        "formula_version": "7",
        "columns_a_w": "aw",
        "columns_moisture": "moisture db %",
        "basis": "moisture_db_percent",
        "direction": "adsorption",
        "temperature_c": "25.0",
        "file_name": "bar-points.csv",
        "content": base64.b64encode(content or points_csv()).decode(),
    }
    return {**given, **more}


def chosen(content: bytes = b"", name: str = "bar-points.csv") -> SimpleUploadedFile:
    """A file as the browser sends it."""
    return SimpleUploadedFile(name, content or points_csv())
