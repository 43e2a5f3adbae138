"""The comparisons app."""

from django.apps import AppConfig


class ComparisonsConfig(AppConfig):
    """See the package's first line."""

    name = "isohume.outlets.site.comparisons"
    label = "comparisons"
