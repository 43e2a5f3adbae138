"""What plant A owns: a method, two instruments, four reference solutions, four products."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from isohume.outlets.demo.plant_a.cast import Cast
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.actions.show_competence import ShowCompetence
from isohume.outlets.site.register.actions.add_bottle import AddBottle
from isohume.outlets.site.register.actions.add_instrument import AddInstrument
from isohume.outlets.site.register.actions.add_method import AddMethod
from isohume.outlets.site.register.actions.add_product import AddProduct
from isohume.outlets.site.register.actions.add_solution_lot import AddSolutionLot
from isohume.outlets.site.register.actions.add_specification import AddSpecification
from isohume.outlets.site.register.actions.method_fields import Asks
from isohume.outlets.site.register.actions.open_bottle import OpenBottle
from isohume.outlets.site.register.actions.record_weighing import RecordWeighing
from isohume.outlets.site.register.actions.set_budget import SetBudget
from isohume.outlets.site.register.models import Bottle, Instrument, MethodVersion, Product

SOLUTIONS = (  # formula, salt and water weighed in, g
    ("LiCl", "84.62", "60.10"),
    ("MgCl2", "71.33", "80.04"),
    ("Mg(NO3)2", "95.10", "80.27"),
    ("NaCl", "52.48", "100.12"),
)


@dataclass(frozen=True)
class Bench:
    """What the days are lived with."""

    cast: Cast
    method: MethodVersion
    dew_point: Instrument
    capacitance: Instrument
    bottles: dict[str, Bottle]
    soft_bar: Product
    oat_base: Product
    filled_bar: Product
    filling: Product


def make_bench(cast: Cast, at: datetime) -> Bench:
    """Register everything, as the manager would."""
    by = By(cast.manager, at)
    asks = Asks(
        version="3",
        document="BM-12, issue 3",
        equilibrium_criterion="change below 0.0005 in 2 minutes, twice",
        settled_change="0.0005",
        settled_window_s="120",
    )
    method = perform(AddMethod(cast.site, "Water activity of cut bars, BM-12", asks), by)
    source = "Own check and duplicate data of the plant"
    perform(SetBudget(method, "own data", u_other="0.0032", s_r="0.0020", source=source, reason="first own data"), by)
    _competences(cast, method, by)
    instruments = _instruments(cast, by)
    bottles = {formula: _bottle(cast, by, formula, salt, water) for formula, salt, water in SOLUTIONS}
    return Bench(cast, method, *instruments, bottles, *_products(cast, method, by))


def _competences(cast: Cast, method: MethodVersion, by: By) -> None:
    shown = by.at.date() - timedelta(days=60)
    for person, months in ((cast.analysts[0], 18), (cast.analysts[1], 6)):
        lapses = shown + timedelta(days=30 * months)
        evidence = f"Blind reference BR-{person.username[:2].upper()} within 0.004"
        perform(ShowCompetence(person, method.method, shown.isoformat(), lapses.isoformat(), evidence), by)


def _instruments(cast: Cast, by: By) -> tuple[Instrument, Instrument]:
    due = by.at.date()
    given: dict[str, Any] = {"location": "Bench room 2", "warm_up_min": "30"}
    one = perform(
        AddInstrument(
            cast.site, "OW-1", "OW1-0417", "dew-point measurement", "yes",
            calibration_due=(due + timedelta(days=104)).isoformat(), **given,
        ),
        by,
    )  # fmt: skip
    two = perform(
        AddInstrument(
            cast.site, "OW-2", "OW2-2209", "polymer permittivity", "no",
            calibration_due=(due + timedelta(days=210)).isoformat(), **given,
        ),
        by,
    )  # fmt: skip
    return one, two


def _bottle(cast: Cast, by: By, formula: str, salt_g: str, water_g: str) -> Bottle:
    made = by.at.date() - timedelta(days=20)
    lot = perform(
        AddSolutionLot(
            cast.site,
            code=f"{formula.replace('(', '').replace(')', '')}-{made:%y%m}",
            solution=formula,
            made_on=made.isoformat(),
            expires_on=(made + timedelta(days=365)).isoformat(),
            made_from="Salt of 99.5 % purity and distilled water; crystals visible under a thin liquid",
            made_by=cast.manager,
        ),
        by,
    )
    perform(
        RecordWeighing(
            lot, "Balance B-3", salt_g, water_g, "100.00", "100.01", "0.03", purity="99.5 %",
            weighed_at=(by.at - timedelta(days=20)).isoformat(), weighed_by=cast.analysts[0],
        ),
        by,
    )  # fmt: skip
    bottle = perform(AddBottle(lot, "1"), by)
    discard = (by.at.date() + timedelta(days=120)).isoformat()
    return perform(OpenBottle(bottle, by.at.isoformat(), discard), by)


def _products(cast: Cast, method: MethodVersion, by: By) -> tuple[Product, Product, Product, Product]:
    soft = _product(
        cast, method, by, "Soft oat bar", "soft or filled pieces", ["whole bar"], "whole bar",
        version="4", upper="0.650", guard="1.64", allow_conditional="yes", expected_a_w="0.632",
        source="Product specification SB-4 of the plant: soft, and not above 0.650 by day 7",
    )  # fmt: skip
    base = _product(
        cast, method, by, "Oat base", "baked goods", ["oat base"], "oat base",
        version="2", lower="0.22", upper="0.36", expected_a_w="0.29",
        source="Product specification OB-2 of the plant: crisp, and not so dry that it breaks",
    )  # fmt: skip
    filled = _product(
        cast, method, by, "Filled bar", "soft or filled pieces", ["fruit filling", "oat base"], "fruit filling",
        version="2", lower="0.48", upper="0.58", expected_a_w="0.53",
        source="Product specification FB-2 of the plant: pumpable, and meets the base below 0.500",
    )  # fmt: skip
    filling = _product(
        cast, method, by, "Fruit filling", "syrup or sauce", ["fruit filling"], "fruit filling",
        version="1", lower="0.48", upper="0.58", expected_a_w="0.53",
        source="Product specification FF-1 of the plant: pumpable",
    )  # fmt: skip
    return soft, base, filled, filling


def _product(
    cast: Cast,
    method: MethodVersion,
    by: By,
    name: str,
    form: str,
    components: list[str],
    component: str,
    **limits: str,
) -> Product:
    product = perform(AddProduct(cast.site, name, form, method.method, components), by)
    source = limits.pop("source")
    version = limits.pop("version")
    perform(AddSpecification(product, version, "25.0", "quality", source, component=component, **limits), by)
    return product
