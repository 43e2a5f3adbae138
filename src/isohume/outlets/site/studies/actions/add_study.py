"""Add a study: points of a product from a file. The raw file is kept, and the worker is asked to fit them."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from isohume.foundation.quantity.typed import read_temperature_c, read_words
from isohume.outlets.site.bench.moments import shown_at
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.ledger.writing import writing
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import DEVELOPER, MANAGER
from isohume.outlets.site.register.actions.fields import needed_code
from isohume.outlets.site.register.models import Product
from isohume.outlets.site.studies.columns import direction_typed, headings_of, mapped, rows_of
from isohume.outlets.site.studies.jobs import KIND
from isohume.outlets.site.studies.models import Study
from isohume.outlets.site.studies.points import PointRead, cells_of, checked, sets_of
from isohume.outlets.site.work.models import Job

Numbered = list[tuple[int, dict[str, str]]]


@dataclass
class AddStudy(Action[Study]):
    """Every row passes, or nothing is saved; numbers are kept as typed. The same content comes once a product.

    columns: our column name -> the file's, the moisture's under "moisture". basis: the moisture's column name with its
    basis and unit. direction, temperature_c: of all points, blank where a column says it.
    """

    name = "study_added"
    said = "Added a study of sorption points"
    roles = frozenset({DEVELOPER, MANAGER})

    product: Product
    file_name: str
    content: bytes
    columns: Mapping[str, str] = field(default_factory=dict)
    basis: str = ""
    formula_version: str = ""
    direction: str = ""
    temperature_c: str = ""

    @property
    def site(self) -> Site:
        """The product's plant."""
        return self.product.site

    @cached_property
    def sha256(self) -> str:
        """The digest by which the file is known."""
        return hashlib.sha256(self.content).hexdigest()

    def refusals(self, by: By) -> Iterable[str]:
        """The same content twice for one product."""
        before = Study.objects.filter(product=self.product, file_sha256=self.sha256).select_related("by").first()
        if before is not None:
            when = shown_at(before.at, self.site)
            yield (
                f"These points of {self.product} are study {before.pk} already: {before.file_name}, added on {when} by "
                f"{before.by.printed_name}."
            )

    @property
    def own_name(self) -> str:
        """The file's name without folders, whatever a browser sent."""
        return read_words(self.file_name.replace("\\", "/").rpartition("/")[2], "file", 200)

    def looked_at(self) -> tuple[list[PointRead], list[str], dict[str, str]]:
        """Every row as it would be taken, what has to be said about them, and the mapping by our full names.

        Raises: InputError at a field of the form; PointsRefused with all rows where one of them is refused.
        """
        rows = rows_of(self.own_name, self.content)
        columns = mapped(self.columns, self.basis, headings_of(rows))
        read, cautions = checked(cells_of(rows, columns), columns)
        return read, cautions, columns

    def change(self, by: By) -> Done[Study]:
        """Keep the file, the points as typed, and ask for the work."""
        formula = needed_code(
            self.formula_version, "formula_version", 20, "the version of the recipe these points are of, such as 7"
        )
        read, _, columns = self.looked_at()
        direction = "" if "direction" in columns else direction_typed(self.direction)
        temperature = "" if "temperature_c" in columns else f"{read_temperature_c(self.temperature_c):f}"
        sets = sets_of((row.record for row in read if row.record), direction, temperature)
        study = Study.objects.create(
            site=self.site,
            product=self.product,
            formula_version=formula,
            file_name=self.own_name,
            file_sha256=self.sha256,
            columns=columns,
            direction=direction,
            temperature_c=temperature,
            points=[{"row": row.row, "cells": row.cells} for row in read],
            count=len(read),
            at=by.at,
            by=by.person,
        )
        ask_worker(study, by)
        with writing(by.at) as evidence:
            evidence.keep_file(self.own_name, self.content)
        details = {
            "product": self.product.name,
            "formula_version": formula,
            "file": self.own_name,
            "sha256": self.sha256,
            "points": len(read),
            "readings": [f"{one.direction} at {one.temperature_c} degC" for one in sets],
        }
        return Done(study, study.ref, [self.product.ref], details)


def ask_worker(study: Study, by: By) -> None:
    """Queue the fit of a study."""
    study.job = Job.objects.create(site=study.site, kind=KIND, argument={"study": study.pk}, created_by=by.person)
    study.save(update_fields=["job"])
