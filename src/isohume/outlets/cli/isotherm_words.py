"""An isotherm as a person reads it: what is recommended and why, the moisture at the limit, then every model."""

from __future__ import annotations

from isohume.foundation.quantity.moisture import wet_from_dry
from isohume.foundation.quantity.rounding import round_together
from isohume.outlets.cli.isotherm import Answer, cautions, known, speaks_of
from isohume.outlets.cli.output import facts, listed, parts, table
from isohume.product.sorption.heat import Heat
from isohume.product.sorption.isotherm_fit import Fit
from isohume.product.sorption.use import Interval

CAUTION = (
    "An isotherm holds for the product, formula, direction and temperature of its points, and nowhere beyond the a_w "
    "they cover. The interval is that of the fitted curve: for a moisture limit take its low end at the warmest "
    "storage temperature, less the uncertainty of the moisture determination. This supports, and does not replace, "
    "the process authority, the regulator and the validated method."
)
NONE = "-"


def readable(answer: Answer) -> str:
    """The whole answer."""
    return parts(
        facts(_answered(answer)),
        listed("Reasons", answer.choice.reasons),
        table(("model", "parameters", "std error", "MRD %", "AICc", "weight"), _models(answer), right=(2, 3, 4, 5)),
        _warnings(answer),
        _heat(answer.heat),
        listed("Cautions", cautions(answer)),
        listed("Notes", answer.notes),
        CAUTION,
    )


def _answered(answer: Answer) -> list[tuple[str, str]]:
    chosen = answer.choice.recommended
    rows = [("recommended", "none" if chosen is None else answer.panel[chosen].model.name)]
    if chosen is not None:
        rows += _of_recommended(answer, answer.panel[chosen])
    rows.append(("points", _points(answer)))
    return rows


def _of_recommended(answer: Answer, fit: Fit) -> list[tuple[str, str]]:
    low, high = fit.valid_a_w
    rows = [("equation", fit.model.equation)]
    if answer.moisture_at_limit is not None and answer.a_w_limit is not None:
        at = speaks_of(fit, answer.selection)
        where = f"a_w {answer.a_w_limit:g}" + ("" if at is None else f", {at:.4g} degC")
        rows.append((f"moisture at {where}", _dry(answer.moisture_at_limit)))
        rows.append(("on wet basis", _wet(answer.moisture_at_limit)))
    rows.append(("valid", f"a_w {low:g} to {high:g}, the range of its points"))
    return rows


def _dry(at: Interval) -> str:
    ends = (100 * at.value, 100 * at.low, 100 * at.high)
    return f"{_span(*ends)} g per 100 g of dry solids (dry basis), {100 * at.level:g} % interval"


def _wet(at: Interval) -> str:
    value, low, high = (100 * wet_from_dry(max(0.0, end)) for end in (at.value, at.low, at.high))
    return f"{_span(value, low, high)} % (g per 100 g as is)"


def _span(value: float, low: float, high: float) -> str:
    """A value between its ends, all with as many decimals as a quarter of the interval's width carries."""
    shown, width = round_together(value, (high - low) / 4)
    decimals = len(width.partition(".")[2])
    return f"{shown} ({low:.{decimals}f} to {high:.{decimals}f})"


def _points(answer: Answer) -> str:
    selection = answer.selection
    said = [f"{answer.panel.points.count}"]
    if selection.direction is not None:
        said.append(selection.direction)
    if selection.temperature_c is not None:
        said.append(f"{selection.temperature_c:.4g} degC")
    elif selection.by_temperature:
        said.append(f"{', '.join(f'{at:.4g}' for at in selection.by_temperature)} degC together")
    return ", ".join(said)


def _models(answer: Answer) -> list[tuple[str, ...]]:
    return [
        (
            fit.model.name,
            ", ".join(_parameter(name, value, fit.u[name]) for name, value in fit.parameters.items()),
            _number(fit.standard_error, ".5f"),
            _number(fit.mrd_percent, ".2f"),
            _number(fit.aicc, ".1f"),
            _number(answer.panel.weights.get(fit.model.key), ".3f"),
        )
        for fit in sorted(answer.panel.fits, key=lambda fit: fit.model.name != answer.choice.recommended)
    ]


def _parameter(name: str, value: float, u: float | None) -> str:
    if u is None or known(value) is None or u == 0.0:
        return f"{name} {value:.4g} (u not known)"
    rounded, of = round_together(value, u)
    return f"{name} {rounded} (u {of})"


def _number(value: float | None, form: str) -> str:
    found = known(value)
    return NONE if found is None else f"{found:{form}}"


def _warnings(answer: Answer) -> str:
    said = [f"{fit.model.name}: {warning}" for fit in answer.panel.fits for warning in fit.warnings]
    said += [f"{key}: more parameters than points in its range, not fitted" for key in answer.panel.too_few]
    return listed("Warnings", said)


def _heat(heat: Heat | None) -> str:
    if heat is None:
        return ""
    rows = [
        (
            f"{100 * row.moisture_db:.2f}",
            f"{100 * wet_from_dry(row.moisture_db):.2f}",
            f"{row.value_kj_mol:.2f}",
            _number(row.low, ".2f"),
            _number(row.high, ".2f"),
        )
        for row in heat.rows
    ]
    head = ("g/100 g dry solids", "% wet basis", "kJ/mol", "low", "high")
    return f"Net isosteric heat ({heat.method}):\n{table(head, rows, right=range(5))}"
