"""The studies app."""

from django.apps import AppConfig


class StudiesConfig(AppConfig):
    """See the package's first line."""

    name = "isohume.outlets.site.studies"
    label = "studies"
