"""What a form chooses from the register, by its key; whatever is not the plant's own is refused at the field."""

from __future__ import annotations

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.models import ColumnMapping, Lot
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Instrument, Product


def product_typed(site: Site, typed: str) -> Product:
    """The product of a form."""
    found = Product.objects.filter(site=site, pk=read_key(typed)).first()
    if found is None:
        raise InputError("product", typed or "nothing", "a product of the register")
    return found


def instrument_typed(site: Site, typed: str) -> Instrument:
    """The instrument of a form."""
    found = Instrument.objects.filter(site=site, pk=read_key(typed)).first()
    if found is None:
        raise InputError("instrument", typed or "nothing", "an instrument of the register")
    return found


def mapping_typed(site: Site, typed: str) -> ColumnMapping | None:
    """The saved mapping of a form; blank is none."""
    if not typed:
        return None
    found = ColumnMapping.objects.filter(site=site, pk=read_key(typed)).first()
    if found is None:
        raise InputError("mapping", typed, "a saved mapping")
    return found


def lot_typed(site: Site, typed: str) -> Lot | None:
    """The lot of a form by its code; blank is none."""
    code = typed.strip()
    found = Lot.objects.filter(site=site, key=code.casefold()).first() if code else None
    if code and found is None:
        raise InputError("lot", code, "the code of a lot that was received")
    return found
