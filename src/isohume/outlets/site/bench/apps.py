"""The bench app."""

from django.apps import AppConfig


class BenchConfig(AppConfig):
    """See the package's first line."""

    name = "isohume.outlets.site.bench"
    label = "bench"
