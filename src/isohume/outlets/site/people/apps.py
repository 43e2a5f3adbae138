"""The people app."""

from django.apps import AppConfig


class PeopleConfig(AppConfig):
    """See the package's first line."""

    name = "isohume.outlets.site.people"
    label = "people"
