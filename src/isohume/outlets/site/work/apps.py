"""The work app."""

from django.apps import AppConfig


class WorkConfig(AppConfig):
    """Jobs of the worker process."""

    name = "isohume.outlets.site.work"
    label = "work"
