"""The paper of a study: the same answer, picture and table as its page."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from isohume.foundation.quantity.moisture import wet_from_dry
from isohume.outlets.paper.isotherm_sheet import Sheet
from isohume.outlets.paper.sheet_frame import Row
from isohume.outlets.site.studies.answers import LEVELS, Saved
from isohume.outlets.site.studies.models import Study
from isohume.outlets.site.studies.pictures import at_one_temperature, picture_of
from isohume.outlets.site.studies.study_page import Answer, comparison_of, facts_of
from isohume.outlets.site.studies.words import set_words

NO_MODEL = "No model describes these points"


def sheet_of(study: Study, answer: Answer) -> Sheet:
    """The sheet of a fitted study for what is asked of it; a question that has no answer says so on paper too."""
    one = answer.one or study.sets[0]
    assert study.result is not None  # there are sets
    assert study.fitted_at is not None
    level = answer.asked["level"] if answer.asked["level"] in LEVELS else "95"
    title = f"Isotherm of {study.product.name}, formula {study.formula_version}"
    return Sheet(
        name=f"study-{study.pk}",
        site=f"{study.site.name}, {study.site.laboratory}",
        title=title,
        at=study.fitted_at,
        answer=answer.words or (NO_MODEL if one["curve"] is None else "No answer to what was asked"),
        holds=f"{LEVELS[level]} interval; {set_words(one)}, formula version {study.formula_version}",
        digest=study.result_sha256,
        picture=picture_of(title, at_one_temperature(study.sets, one["temperature_c"]), level, answer.limit),
        reasons=[*answer.errors.values(), *one["reasons"], *one["cautions"]],
        models=list(_models(one)),
        points=list(_points(one)),
        stands_on=_stands_on(study),
        facts=[(label, words) for label, words, *_ in facts_of(answer, study.result["replicates"])],
        signed=_signed(study, one),
    )


def _signed(study: Study, one: Mapping[str, Any]) -> str:
    kept = (
        study.isotherms.filter(direction=one["direction"], temperature_c=one["temperature_c"])
        .order_by("version")
        .last()
    )
    if kept is None or kept.content != one:
        return "Not kept as the product's isotherm."
    return f"Kept as version {kept.version}, signed by {kept.by.printed_name}."


def _models(one: Mapping[str, Any]) -> Iterable[Row]:
    for row in comparison_of(one):
        name = f"{row['name']} (recommended)" if row["recommended"] else row["name"]
        parameters = "; ".join(f"{key} {value}" for key, value in row["parameters"])
        figures = (row["standard_error"], row["mrd"], row["aicc"], row["weight"])
        yield (name, parameters, str(row["points"]), *figures), "; ".join(row["warnings"])


def _points(one: Mapping[str, Any]) -> Iterable[Row]:
    curve = Saved.of(one).moisture if one["curve"] else None
    for row, a_w, moisture, *_ in one["points"]:
        inside = curve is not None and curve.ends[0] <= a_w <= curve.ends[1]
        fitted = f"{curve.at(a_w):.4f}" if curve is not None and inside else ""
        wet = f"{100 * float(wet_from_dry(max(moisture, 0.0))):.2f}"
        yield (str(row), f"{a_w:.4g}", f"{moisture:.4f}", wet, fitted, ""), ""


def _stands_on(study: Study) -> list[tuple[str, str]]:
    assert study.result is not None
    return [
        ("Points", f"{study.count} of {study.file_name}, added by {study.by.printed_name}"),
        ("SHA-256 of the file", study.file_sha256),
        ("Calculated with", f"isohume {study.result['isohume']}, {study.result['replicates']} replicates"),
    ]
