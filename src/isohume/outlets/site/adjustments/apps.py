"""The adjustments app."""

from django.apps import AppConfig


class AdjustmentsConfig(AppConfig):
    """See the package's first line."""

    name = "isohume.outlets.site.adjustments"
    label = "adjustments"
