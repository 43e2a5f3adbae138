"""Reads a lot file (TOML): strictly, with decimals kept as typed, and contradictions refused."""

from __future__ import annotations

import tomllib
import unicodedata
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path

from isohume.bench.reading.check_file import COLUMNS as CHECK_COLUMNS
from isohume.bench.reading.runs import COLUMNS as READINGS_COLUMNS
from isohume.bench.record.lot_companions import read_companions
from isohume.bench.record.lot_correction import read_correction
from isohume.bench.record.lot_description import (
    STARTER_SOURCE,
    STARTER_U,
    CheckFile,
    Instrument,
    LotDescription,
    Method,
    TableFile,
    Uncertainty,
)
from isohume.bench.record.lot_specification import read_bench_temperature, read_specification
from isohume.bench.record.toml_section import SMALLEST_U, Section
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_time, read_words

LARGEST_BYTES = 1_000_000
LARGEST_CHECK_LIMIT = Decimal("0.02")
"""Twice the collaborative performance of +-0.01: a check that allows more checks nothing (no source)."""
LARGEST_TOLERANCE_K = 2
"""A wider band would let a limit be judged at another temperature, which needs a heat of sorption (no source)."""
LARGEST_MISMATCH_K = 5
"""Beyond it no surface thermometer is believed (common practice, no source)."""
LARGEST_WHOLE = 10**30
SANE_NUMBERS = "numbers of at most 25 digits, 1e-30 to 1e30 in size"
DEEPEST = 8
LONGEST_REASON = 1000
LONGEST_DOCUMENT = 300


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
    read_words(path.name, "lot file")
    top = Section("", _load(path))
    lot, site = top.required("lot"), top.required("site")
    produced_on, received_at = _dates(lot)
    amendment = top.section("amendment")
    instrument = _instrument(top.required("instrument"))
    method = _method(top.required("method"))
    check = replace(_check(top.required("check"), path.parent), instrument=instrument.id)
    described = LotDescription(
        lot=_lot_id(lot),
        description=lot.text("description", ""),
        produced_on=produced_on,
        received_at=received_at,
        site=site.text("name"),
        laboratory=site.text("laboratory", ""),
        address=site.text("address", ""),
        customer=site.text("customer", ""),
        analyst=lot.text("analyst", ""),
        method=method,
        specification=read_specification(top.required("product"), top.required("specification"), method),
        instrument=instrument,
        check=check,
        closing_check=_closing(top, path.parent, check),
        readings=_readings(top.required("readings"), path.parent),
        uncertainty=_uncertainty(top.section("uncertainty")),
        companions=read_companions(top),
        amendment_reason=amendment.text("reason", most=LONGEST_REASON) if amendment else "",
        file=path,
        notes=(),
        correction=read_correction(top),
    )
    for section in (lot, site, top, *([amendment] if amendment else [])):
        section.close()
    return replace(described, notes=tuple(top.notes))


def _lot_id(section: Section) -> str:
    """The lot's id; look-alikes (other dashes, invisible characters, full-width letters) would be lots of their own."""
    typed = section.text("id")
    plain = unicodedata.normalize("NFKC", typed)
    strange = [c for c in plain if not (c.isalnum() or (c.isascii() and c.isprintable()))]
    if plain != typed or strange:
        raise InputError(section.field("id"), typed, "letters, digits and plain signs; write other dashes as -")
    return typed


def _load(path: Path) -> dict[str, object]:
    if not path.is_file():
        kind = "a file, not a folder" if path.is_dir() else "an existing TOML file"
        raise InputError("lot file", path.name or str(path), kind)
    if path.stat().st_size > LARGEST_BYTES:
        raise InputError("lot file", f"{path.stat().st_size} bytes", f"at most {LARGEST_BYTES} bytes")
    try:
        # An editor may put a byte order mark before the first table.
        content = tomllib.loads(path.read_bytes().decode("utf-8-sig"), parse_float=Decimal)
    except UnicodeDecodeError as error:
        bad = f"byte 0x{error.object[error.start]:02x} in line {error.object.count(10, 0, error.start) + 1}"
        raise InputError("encoding", bad, "UTF-8") from None
    except tomllib.TOMLDecodeError as error:
        raise InputError("lot file", str(error), "valid TOML") from None
    except RecursionError:
        raise InputError("lot file", "deeper nesting", f"at most {DEEPEST} levels") from None
    except (ValueError, ArithmeticError):
        raise InputError("lot file", "a huge number", SANE_NUMBERS) from None
    _refuse_what_no_lot_needs(content)
    return content


def _refuse_what_no_lot_needs(content: dict[str, object]) -> None:
    """Nesting and whole numbers beyond what can be shown, in known keys and unknown ones."""
    level: list[object] = [content]
    for _ in range(DEEPEST):
        inner: list[object] = []
        for value in level:
            if isinstance(value, int) and abs(value) > LARGEST_WHOLE:
                raise InputError("lot file", "a huge number", SANE_NUMBERS)
            inner.extend(value.values() if isinstance(value, dict) else value if isinstance(value, list) else ())
        level = inner
    if level:
        raise InputError("lot file", "deeper nesting", f"at most {DEEPEST} levels")


def _dates(lot: Section) -> tuple[str, datetime | None]:
    """When the lot was produced and received; nothing is received before it is produced."""
    received, produced = lot.raw("received_at"), lot.raw("produced_on")
    received_at = None if received is None else read_time(received, "lot.received_at", lot.notes)
    if produced is None:
        return "", received_at
    text = produced.isoformat() if isinstance(produced, date) else str(produced)
    try:
        day = produced.date() if isinstance(produced, datetime) else date.fromisoformat(text)
    except ValueError:
        raise InputError("lot.produced_on", text, "a date in ISO 8601, such as 2026-11-23") from None
    if received_at is not None and day > received_at.date():
        raise InputError("lot.produced_on", text, f"a day not after the lot was received ({received_at.date()})")
    return text, received_at


def _method(section: Section) -> Method:
    temperature = read_bench_temperature(section, "the temperature of the block")
    tolerance = section.decimal("temperature_tolerance_c")
    interval = section.decimal("check_interval_h")
    mismatch = section.decimal("mismatch_limit_c")
    for key, value, most in (
        ("temperature_tolerance_c", tolerance, LARGEST_TOLERANCE_K),
        ("mismatch_limit_c", mismatch, LARGEST_MISMATCH_K),
    ):
        if value is not None and not 0 <= value <= most:
            raise InputError(section.field(key), value, f"kelvin, zero or more and at most {most}")
    if interval is not None and not 0 < interval <= 24 * 31:
        raise InputError(section.field("check_interval_h"), interval, "hours, above 0 and at most 744")
    method = Method(
        name=section.text("name"),
        version=section.text("version"),
        temperature_c=temperature,
        temperature_tolerance_c=Decimal("0.5") if tolerance is None else tolerance,
        mismatch_limit_c=mismatch,
        estimates_validated=section.text("estimates_validated", "", most=LONGEST_DOCUMENT),
    )
    section.close()
    return method if interval is None else replace(method, check_interval_h=float(interval))


def _instrument(section: Section) -> Instrument:
    instrument = Instrument(
        id=section.text("id"),
        serial=section.text("serial", ""),
        principle=section.text("principle"),
        measures_surface_temperature=section.flag("measures_surface_temperature", False),
    )
    section.close()
    return instrument


def _check(section: Section, folder: Path) -> CheckFile:
    limit, u_instrument = section.decimal("limit"), section.decimal("u_instrument")
    if limit is not None and not SMALLEST_U <= limit <= LARGEST_CHECK_LIMIT:
        allowed = f"an a_w, at least {SMALLEST_U:f} and at most {LARGEST_CHECK_LIMIT}"
        raise InputError(section.field("limit"), limit, allowed)
    if u_instrument is not None and not 0 <= u_instrument <= LARGEST_CHECK_LIMIT:
        allowed = f"an a_w, zero or more and at most {LARGEST_CHECK_LIMIT}"
        raise InputError(section.field("u_instrument"), u_instrument, allowed)
    defaults = CheckFile(TableFile(folder))
    table = _table(section, folder, CHECK_COLUMNS)
    section.close()
    return CheckFile(
        table,
        defaults.limit if limit is None else float(limit),
        defaults.u_instrument if u_instrument is None else float(u_instrument),
    )


def _closing(top: Section, folder: Path, check: CheckFile) -> CheckFile | None:
    """The closing check; a laxer limit than the opening check's would credit what the opening one would fail."""
    section = top.section("closing_check")
    if section is None:
        return None
    closing = _check(section, folder)
    for key, ours, opening in (
        ("limit", closing.limit, check.limit),
        ("u_instrument", closing.u_instrument, check.u_instrument),
    ):
        if ours > opening:
            raise InputError(section.field(key), ours, f"at most the opening check's {opening}")
    return replace(closing, instrument=check.instrument)


def _readings(section: Section, folder: Path) -> TableFile:
    table = _table(section, folder, READINGS_COLUMNS)
    section.close()
    return table


def _table(section: Section, folder: Path, known: tuple[str, ...]) -> TableFile:
    name = section.text("file")
    columns = {} if section.raw("columns") is None else section.raw("columns")
    if not isinstance(columns, dict) or not all(isinstance(v, str) for v in columns.values()):
        raise InputError(section.field("columns"), columns, 'a table such as { a_w = "Value" }')
    for ours in columns:
        # A misspelt column would be passed over, and a void run would count.
        if ours not in known:
            raise InputError(section.field("columns"), ours, f"one of {', '.join(known)}")
    path = folder / name
    if Path(name).is_absolute() or ".." in Path(name).parts:
        raise InputError(section.field("file"), name, "a file name inside the lot file's folder")
    if not path.is_file():
        raise InputError(section.field("file"), name, "an existing CSV or XLSX file beside the lot file")
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
    if value is not None and not SMALLEST_U <= value < 1:
        allowed = f"a standard uncertainty in a_w, above 0 and below 1 (at least {SMALLEST_U:f})"
        raise InputError(section.field(key), value, allowed)
    return value
