"""Reads a lot file (TOML): strictly, with decimals kept as typed, and contradictions refused."""

from __future__ import annotations

import tomllib
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path

from isohume.bench.decision.specification import DEFAULT_GUARD, Specification
from isohume.bench.record.lot_companions import read_companions
from isohume.bench.record.lot_description import (
    STARTER_SOURCE,
    STARTER_U,
    CheckFile,
    Instrument,
    LotDescription,
    Method,
    ProductSpecification,
    TableFile,
    Uncertainty,
)
from isohume.bench.record.toml_section import Section
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.limits import Limit
from isohume.foundation.quantity.typed import read_a_w, read_temperature_c, read_time

LARGEST_BYTES = 1_000_000


def read_lot_file(path: Path) -> LotDescription:
    """A lot description from its TOML file.

    path: the lot file [text]; file names inside it are relative to its folder.
    Returns: the LotDescription [text].
    Raises: InputError naming the key, the value and what is allowed; unknown and contradictory keys too.
    Source: none.
    """
    try:
        return _read(path)
    except InputError as error:
        raise error.at(file=error.file or path.name) from None


def _read(path: Path) -> LotDescription:
    notes: list[str] = []
    top = Section("", _load(path))
    lot, site = top.required("lot"), top.required("site")
    received = lot.raw("received_at")
    amendment = top.section("amendment")
    instrument = _instrument(top.required("instrument"))
    method = _method(top.required("method"))
    described = LotDescription(
        lot=lot.text("id"),
        description=lot.text("description", ""),
        produced_on=_date(lot, "produced_on"),
        received_at=None if received is None else read_time(received, "lot.received_at", notes),
        site=site.text("name"),
        laboratory=site.text("laboratory", ""),
        address=site.text("address", ""),
        customer=site.text("customer", ""),
        analyst=lot.text("analyst", ""),
        method=method,
        specification=_specification(top.required("product"), top.required("specification"), method, notes),
        instrument=instrument,
        check=_check(top.required("check"), path.parent),
        closing_check=_check(top.required("closing_check"), path.parent) if top.has("closing_check") else None,
        readings=_table(top.required("readings"), path.parent),
        uncertainty=_uncertainty(top.section("uncertainty")),
        companions=read_companions(top, notes),
        amendment_reason=amendment.text("reason") if amendment else "",
        file=path,
        notes=tuple(notes),
    )
    for section in (lot, site, top, *([amendment] if amendment else [])):
        section.close()
    return described


def _load(path: Path) -> dict[str, object]:
    if not path.is_file():
        raise InputError("lot file", path.name, "an existing TOML file")
    if path.stat().st_size > LARGEST_BYTES:
        raise InputError("lot file", f"{path.stat().st_size} bytes", f"at most {LARGEST_BYTES} bytes")
    try:
        return tomllib.loads(path.read_bytes().decode("utf-8"), parse_float=Decimal)
    except UnicodeDecodeError as error:
        raise InputError("encoding", f"byte at {error.start}", "UTF-8") from None
    except tomllib.TOMLDecodeError as error:
        raise InputError("lot file", str(error), "valid TOML") from None


def _date(section: Section, key: str) -> str:
    value = section.raw(key)
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, date):
        return value.isoformat()
    try:
        return date.fromisoformat(str(value)).isoformat()
    except ValueError:
        raise InputError(section.field(key), value, "a date in ISO 8601, such as 2026-11-23") from None


def _method(section: Section) -> Method:
    temperature = read_temperature_c(
        section.raw("temperature_c"), "method.temperature_c", low=Decimal(0), high=Decimal(60)
    )
    tolerance = section.decimal("temperature_tolerance_c")
    interval = section.decimal("check_interval_h")
    mismatch = section.decimal("mismatch_limit_c")
    for key, value in (("temperature_tolerance_c", tolerance), ("mismatch_limit_c", mismatch)):
        if value is not None and value < 0:
            raise InputError(section.field(key), value, "kelvin, zero or more")
    if interval is not None and not 0 < interval <= 24 * 31:
        raise InputError(section.field("check_interval_h"), interval, "hours, above 0 and at most 744")
    method = Method(
        name=section.text("name"),
        version=section.text("version"),
        temperature_c=temperature,
        temperature_tolerance_c=Decimal("0.5") if tolerance is None else tolerance,
        mismatch_limit_c=mismatch,
    )
    section.close()
    return method if interval is None else _with_interval(method, float(interval))


def _with_interval(method: Method, interval_h: float) -> Method:
    return Method(
        method.name,
        method.version,
        method.temperature_c,
        method.temperature_tolerance_c,
        method.mismatch_limit_c,
        interval_h,
    )


def _instrument(section: Section) -> Instrument:
    instrument = Instrument(
        id=section.text("id"),
        serial=section.text("serial", ""),
        principle=section.text("principle"),
        measures_surface_temperature=section.flag("measures_surface_temperature", False),
    )
    section.close()
    return instrument


def _specification(product: Section, section: Section, method: Method, notes: list[str]) -> ProductSpecification:
    lower = _limit(section, "minimum", ">=", "above", ">", notes)
    upper = _limit(section, "maximum", "<=", "below", "<", notes)
    guard = section.decimal("guard")
    kind = section.choice("kind", ("safety", "quality"))
    conditional = section.flag("allow_conditional", False)
    version, component, source = section.text("version"), section.text("component", ""), section.text("source")
    temperature = _spec_temperature(section, method)
    expected, name = product.raw("expected_a_w"), product.text("name")
    # Before the limits are weighed, so that a misspelt key is named rather than missed.
    product.close()
    section.close()
    rule = Specification(
        lower=lower,
        upper=upper,
        kind="safety" if kind == "safety" else "quality",
        guard=DEFAULT_GUARD if guard is None else guard,
        allow_conditional=conditional,
    )
    return ProductSpecification(
        product=name,
        version=version,
        component=component,
        temperature_c=temperature,
        rule=rule,
        source=source,
        expected_a_w=_expected(rule) if expected is None else read_a_w(expected, "product.expected_a_w", notes),
    )


def _limit(
    section: Section, inclusive: str, inclusive_sign: str, strict: str, strict_sign: str, notes: list[str]
) -> Limit | None:
    if section.has(inclusive) and section.has(strict):
        raise InputError(section.field(strict), section.raw(strict), f"either {inclusive} or {strict}, not both")
    for key, sign in ((inclusive, inclusive_sign), (strict, strict_sign)):
        if section.has(key):
            value = read_a_w(section.raw(key), section.field(key), notes)
            return Limit(value, sign)  # type: ignore[arg-type]  # the four signs come from the two calls above
    return None


def _spec_temperature(section: Section, method: Method) -> Decimal:
    if not section.has("temperature_c"):
        raise InputError(
            "specification.temperature_c", "nothing", "the temperature the limit is stated at, in degrees Celsius"
        )
    temperature = read_temperature_c(
        section.raw("temperature_c"), "specification.temperature_c", low=Decimal(0), high=Decimal(60)
    )
    if abs(temperature - method.temperature_c) > method.temperature_tolerance_c:
        raise InputError(
            "specification.temperature_c",
            temperature,
            f"the method's {method.temperature_c} +- {method.temperature_tolerance_c} degC: a reading is not restated "
            "at another temperature without a documented heat of sorption",
        )
    return temperature


def _expected(rule: Specification) -> Decimal:
    """Before a reading or a history exists the specification is the best guess; the wetter limit is the careful one."""
    limit = rule.upper or rule.lower
    assert limit is not None  # a specification has at least one limit
    return limit.value


def _check(section: Section, folder: Path) -> CheckFile:
    limit, u_instrument = section.decimal("limit"), section.decimal("u_instrument")
    defaults = CheckFile(TableFile(folder))
    table = _table(section, folder, close=False)
    section.close()
    return CheckFile(
        table,
        defaults.limit if limit is None else float(limit),
        defaults.u_instrument if u_instrument is None else float(u_instrument),
    )


def _table(section: Section, folder: Path, *, close: bool = True) -> TableFile:
    name = section.text("file")
    columns = section.raw("columns") or {}
    if not isinstance(columns, dict) or not all(isinstance(v, str) for v in columns.values()):
        raise InputError(section.field("columns"), columns, 'a table such as { a_w = "Value" }')
    path = folder / name
    if Path(name).is_absolute() or ".." in Path(name).parts:
        raise InputError(section.field("file"), name, "a file name inside the lot file's folder")
    if not path.is_file():
        raise InputError(section.field("file"), name, "an existing CSV or XLSX file beside the lot file")
    if close:
        section.close()
    return TableFile(path, dict(columns))


def _uncertainty(section: Section | None) -> Uncertainty:
    if section is None:
        return Uncertainty("collaborative study", STARTER_U, None, None, STARTER_SOURCE)
    basis = section.choice("basis", ("own data", "collaborative study", "instrument specification"))
    values = {key: _positive(section, key) for key in ("u_other", "s_r", "s_R", "s_position")}
    if values["s_R"] is not None and basis != "collaborative study":
        raise InputError(section.field("s_R"), values["s_R"], 'only with basis = "collaborative study"')
    if values["u_other"] is not None and basis == "collaborative study":
        raise InputError(
            section.field("u_other"), values["u_other"], "s_R in place of u_other with a collaborative study"
        )
    if basis == "own data" and (values["u_other"] is None or values["s_r"] is None):
        missing = "u_other" if values["u_other"] is None else "s_r"
        raise InputError(section.field(missing), "nothing", "a standard uncertainty (needed with own data)")
    reproducibility = values["s_R"] or STARTER_U
    found = Uncertainty(
        basis=basis,  # type: ignore[arg-type]  # `choice` admits only the three words
        u_other=reproducibility if basis == "collaborative study" else values["u_other"],
        s_r=values["s_r"],
        s_position=values["s_position"],
        source=section.text("source", STARTER_SOURCE if basis == "collaborative study" and not values["s_R"] else None),
    )
    if basis == "collaborative study" and found.s_r is not None and found.s_r >= reproducibility:
        raise InputError(section.field("s_r"), found.s_r, f"less than the reproducibility s_R {reproducibility}")
    section.close()
    return found


def _positive(section: Section, key: str) -> Decimal | None:
    value = section.decimal(key)
    if value is not None and not 0 < value < 1:
        raise InputError(section.field(key), value, "a standard uncertainty in a_w, above 0 and below 1")
    return value
