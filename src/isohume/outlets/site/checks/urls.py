"""The addresses of the checks app."""

from __future__ import annotations

from django.urls import URLPattern, path

from isohume.outlets.site.checks.views.day import cleaning_new, start_sheet
from isohume.outlets.site.checks.views.listed import checks
from isohume.outlets.site.checks.views.one import check, check_void
from isohume.outlets.site.checks.views.recording import check_expected, check_new

urlpatterns: list[URLPattern] = [
    path("checks/", checks, name="checks"),
    path("checks/new/", check_new, name="check_new"),
    path("checks/expected/", check_expected, name="check_expected"),
    path("checks/<int:pk>/", check, name="check"),
    path("checks/<int:pk>/void/", check_void, name="check_void"),
    path("start-sheet/", start_sheet, name="start_sheet"),
    path("cleanings/new/", cleaning_new, name="cleaning_new"),
]
