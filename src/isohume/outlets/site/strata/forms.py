"""The form of a position map."""

from __future__ import annotations

from django.urls import reverse

from isohume.outlets.site.register.models import Product
from isohume.outlets.site.register.views.act import ActForm, Ask
from isohume.outlets.site.strata.actions.save_map import SavePositionMap
from isohume.outlets.site.strata.queries import map_of

ROWS_HINT = "Separated by commas; a series in short: rack 1 to 12."
WORST_HINT = "Worst first: a row, a column, or a row with its column, such as rack 12 bottom front."
FIELDS = ("rows", "columns", "worst", "reason")


def position_map(product: Product) -> ActForm:
    """Another version of the map; it starts as the one in force."""
    before = map_of(product)
    return ActForm(
        question=f"Which places has a lot of {product.name}?",
        says="Save the position map",
        button="Save position map",
        back=reverse("product_sampling", args=[product.pk]),
        back_text=f"Sampling of {product.name}",
        asks=[
            Ask("rows", "Rows", start=", ".join(before.rows) if before else "", hint=ROWS_HINT, required=True),
            Ask(
                "columns",
                "Columns",
                start=", ".join(before.columns) if before else "",
                hint="Such as rear, middle, front.",
            ),
            Ask("worst", "Expected to be the worst", start=", ".join(before.worst) if before else "", hint=WORST_HINT),
            Ask("reason", "Why these places", required=True),
        ],
        make=lambda f: SavePositionMap(product, **{name: f.get(name, "") for name in FIELDS}),
        after=lambda made: made.get_absolute_url(),
        note=f"In force now: map {before.version}. Samples keep the place that was typed." if before else "",
        advice=(
            "For a critical limit the expected worst place is sampled first: where the air is weakest, the piece "
            "thickest, the load heaviest.",
            "Which place is the worst is measured, not believed: map a few lots in full before a plan relies on it.",
        ),
    )
