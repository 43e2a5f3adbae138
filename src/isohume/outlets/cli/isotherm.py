"""`isohume isotherm FILE`: from points to models, the recommended one, and the moisture at an a_w limit."""

from __future__ import annotations

import math
from argparse import Namespace
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from isohume.bench.reading.remarks import Remarks
from isohume.bench.reading.tables import read_rows
from isohume.foundation.quantity.errors import InputError, RangeError
from isohume.outlets.cli.arguments import Arguments
from isohume.outlets.cli.output import print_error, print_json, print_text
from isohume.product.sorption.point_file import (
    COLUMNS,
    DIRECTIONS,
    MOISTURE_COLUMNS,
    OPTIONAL,
    PointRecord,
    PointTable,
    read_point_rows,
)

if TYPE_CHECKING:  # arrays and compiled kernels are loaded when a file is fitted, not for --help or a refused file
    from isohume.product.sorption.choice import Choice
    from isohume.product.sorption.heat import Heat
    from isohume.product.sorption.isotherm_fit import Fit
    from isohume.product.sorption.panel import Panel
    from isohume.product.sorption.point_selection import Selection
    from isohume.product.sorption.use import Interval

EXAMPLE = "isohume isotherm demo-day/inputs/soft-oat-bar-isotherm.csv --temperature-c 25 --a-w-limit 0.65"
ALL = "all"


@dataclass(frozen=True, slots=True)
class Answer:
    """Everything the verb found, before it is printed."""

    selection: Selection
    panel: Panel
    choice: Choice
    a_w_limit: float | None
    moisture_at_limit: Interval | None
    heat: Heat | None
    cautions: tuple[str, ...]
    notes: tuple[str, ...]


def run(arguments: list[str]) -> int:
    """Fit the points of a file; 0 where a model is recommended, 1 where none is."""
    given = _parser().parse_args(arguments)
    answer = _answer(given)
    if given.json:
        print_json(as_json(answer))
    else:
        from isohume.outlets.cli.isotherm_words import readable

        print_text(readable(answer))
    return 0 if answer.choice.recommended is not None else 1


def _parser() -> Arguments:
    parser = Arguments("isotherm", "Fit isotherm models to points of a_w and moisture, and recommend one.", EXAMPLE)
    parser.path("file", help=f"CSV or XLSX: a_w, one moisture column; where known {', '.join(OPTIONAL)}")
    parser.once("--model", metavar="all|KEY", default=ALL, help="one model by its key, such as gab (default all)")
    parser.decimal("--a-w-limit", "A_W", help="the a_w whose moisture is wanted, with its interval")
    parser.once("--direction", choices=DIRECTIONS, help="which points to fit, where the file holds both")
    parser.decimal("--temperature-c", "DEGC", help="which points to fit, where the file holds several temperatures")
    return parser


def read_point_file(path: Path, notes: list[str]) -> PointTable:
    """The points of a CSV or XLSX file; what was accepted and has to be said goes into `notes`."""
    said: dict[int, list[str]] = {}
    try:
        rows = ((row.number, row.cells) for row in read_rows(path, ("a_w",), known=COLUMNS))
        table = read_point_rows(rows, said)
    except InputError as error:
        raise _basis_asked(error).at(file=error.file or path.name) from None
    remarks = Remarks(path.name)
    for row, texts in said.items():
        remarks.add(row, texts)
    notes.extend(remarks.lines())
    return table


def _basis_asked(error: InputError) -> InputError:
    """A heading that says moisture and no basis is answered with the four that say it."""
    if error.field != "columns" or not str(error.value).casefold().startswith("moisture"):
        return error
    return InputError("columns", error.value, f"exactly one of {', '.join(MOISTURE_COLUMNS)}", row=error.row)


def _answer(given: Namespace) -> Answer:
    notes: list[str] = []
    limit = None if given.a_w_limit is None else float(given.a_w_limit.a_w())
    temperature = None if given.temperature_c is None else given.temperature_c.temperature_c()
    table = read_point_file(given.file, notes)
    keys = _keys(given.model)
    from isohume.product.sorption.choice import choose
    from isohume.product.sorption.panel_with_errors import fit_panel_with_errors
    from isohume.product.sorption.point_selection import points_of, select_points
    from isohume.product.sorption.readiness import prepare_kernels

    together = _reads_temperature(keys)
    try:
        selection = select_points(table, given.direction, temperature, together=together)
        prepare_kernels(print_error, errors_in_both=any(each.u_a_w is not None for each in selection.records))
        records = _in_range(selection.records, keys, notes)
        panel = fit_panel_with_errors(points_of(records), keys)
    except InputError as error:
        raise error.at(file=error.file or given.file.name) from None
    choice = choose(panel)
    fit = None if choice.recommended is None else panel[choice.recommended]
    at_limit = None if fit is None or limit is None else _at_limit(panel, choice, limit, selection)
    heat, why_none = _heat(fit, selection)
    said = (*notes, *selection.notes, *why_none, *(() if at_limit is None else at_limit.flags))
    return Answer(selection, panel, choice, limit, at_limit, heat, table.cautions, said)


def _keys(text: str) -> tuple[str, ...]:
    from isohume.product.sorption.catalogue import PANEL, model_named

    return tuple(PANEL) if text.strip().casefold() == ALL else (model_named(text).key,)


def _reads_temperature(keys: tuple[str, ...]) -> bool:
    """Whether the model has temperature in it, so that all temperatures of the file are fitted together."""
    from isohume.product.sorption.catalogue import model_named

    return len(keys) == 1 and bool(model_named(keys[0]).needs_temperature)


def _in_range(records: tuple[PointRecord, ...], keys: tuple[str, ...], notes: list[str]) -> tuple[PointRecord, ...]:
    """The points that one model asked for by name speaks of; all of them where models are compared."""
    from isohume.product.sorption.catalogue import model_named

    if len(keys) > 1:
        return records
    model = model_named(keys[0])
    low, high = model.valid_a_w
    inside = tuple(record for record in records if low <= record.a_w <= high)
    if len(inside) < len(records):
        beyond = len(records) - len(inside)
        notes.append(f"{model.name} speaks of a_w {low:g} to {high:g} only: {beyond} points beyond it are left out")
    return inside


def _at_limit(panel: Panel, choice: Choice, limit: float, selection: Selection) -> Interval:
    from isohume.product.sorption.form import moisture_at_chosen

    fit = panel[str(choice.recommended)]
    try:
        return moisture_at_chosen(panel, choice, limit, temperature_c=speaks_of(fit, selection))
    except RangeError as error:
        why = f"the fitted range of {fit.model.name}"
        raise RangeError("a_w_limit", limit, error.low, error.high, why=why) from None


def speaks_of(fit: Fit, selection: Selection) -> float | None:
    """The temperature [degC] a fit is asked at: the one chosen, or, with all in one model, the warmest of the file."""
    if selection.temperature_c is None and fit.model.needs_temperature:
        return max(selection.by_temperature)
    return selection.temperature_c


def _heat(fit: Fit | None, selection: Selection) -> tuple[Heat | None, tuple[str, ...]]:
    """The net isosteric heat from every temperature of the direction; None, and why, where there is none."""
    if len(selection.by_temperature) < 2:
        return None, ()
    if fit is None:
        return None, ("heat: none, because no model is recommended.",)
    from isohume.product.sorption.heat import isosteric_heat
    from isohume.product.sorption.panel_with_errors import fit_panel_with_errors
    from isohume.product.sorption.point_selection import points_of

    try:
        if fit.model.needs_temperature:
            return isosteric_heat(fit), ()
        records = _in_range(selection.levelled(), (fit.model.key,), [])
        groups = points_of(records).temperatures().values()
        return isosteric_heat([fit_panel_with_errors(group, (fit.model.key,)).fits[0] for group in groups]), ()
    except InputError as error:
        return None, (f"heat: none from these temperatures; {error}",)


def as_json(answer: Answer) -> dict[str, Any]:
    """The answer with the contract's keys; where nothing is known stands null, never nan."""
    at, heat = answer.moisture_at_limit, answer.heat
    recommended = answer.choice.recommended
    return {
        "n": answer.panel.points.count,
        "models": [_model_json(fit, answer.panel.weights.get(fit.model.key)) for fit in answer.panel.fits],
        "recommended": None if recommended is None else answer.panel[recommended].model.name,
        "reasons": list(answer.choice.reasons),
        "moisture_at_limit": None if at is None else {"value": at.value, "low": at.low, "high": at.high},
        "heat": [] if heat is None else [row.as_json() for row in heat.rows],
        "direction": answer.selection.direction,
        "temperature_c": answer.selection.temperature_c,
        "a_w_limit": answer.a_w_limit,
        "too_few_points_for": list(answer.panel.too_few),
        "cautions": cautions(answer),
        "notes": list(answer.notes),
    }


def cautions(answer: Answer) -> list[str]:
    """What must be known before the numbers are used: about the file, the recommended model, and the heat."""
    return [*answer.cautions, *answer.choice.cautions, *(() if answer.heat is None else answer.heat.warnings)]


def _model_json(fit: Fit, weight: float | None) -> dict[str, Any]:
    return {
        "name": fit.model.name,
        "parameters": {name: known(value) for name, value in fit.parameters.items()},
        "u": {name: known(value) for name, value in fit.u.items()},
        "correlation": [[known(value) for value in row] for row in fit.correlation],
        "sse": known(fit.sse),
        "standard_error": known(fit.standard_error),
        "mrd_percent": known(fit.mrd_percent),
        "aicc": known(fit.aicc),
        "weight": known(weight),
        "valid_a_w": [known(end) for end in fit.valid_a_w],
        "warnings": list(fit.warnings),
        "key": fit.model.key,
    }


def known(value: float | None) -> float | None:
    """A number, or None where there is none: JSON has no nan."""
    return None if value is None or not math.isfinite(value) else float(value)
