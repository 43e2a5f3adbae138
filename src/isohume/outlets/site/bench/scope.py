"""What the method's scope says of a product, and how its form is prepared."""

from __future__ import annotations

from isohume.bench.reading.preparation_guidance import Guidance, guidance
from isohume.bench.reading.scope import judge_scope
from isohume.foundation.quantity.errors import UnknownNameError
from isohume.outlets.site.register.models import Product


def scope_words(product: Product) -> tuple[str, ...]:
    """What is to be said of the method's scope: why the product lies outside, or with which caution inside."""
    return judge_scope(product.scope_flags).reasons


def preparation(product: Product) -> Guidance | None:
    """How a portion of the product is prepared; None where its form is not one that guidance is known for."""
    try:
        return guidance(product.form)
    except UnknownNameError:
        return None
