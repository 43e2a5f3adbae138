"""The register app."""

from django.apps import AppConfig


class RegisterConfig(AppConfig):
    """See the package's first line."""

    name = "isohume.outlets.site.register"
    label = "register"
