"""The addresses of the studies app."""

from __future__ import annotations

from django.urls import path

from isohume.outlets.site.studies.views import isotherm, new, restate, study

urlpatterns = [
    path("studies/", study.studies, name="studies"),
    path("studies/new/", new.study_new, name="study_new"),
    path("studies/<int:pk>/", study.study, name="study"),
    path("studies/<int:pk>/fit/", study.study_fit, name="study_fit"),
    path("studies/<int:pk>/keep/", isotherm.study_keep, name="study_keep"),
    path("studies/<int:pk>/sheet/", study.study_sheet, name="study_sheet"),
    path("studies/<int:pk>/file/", study.study_file, name="study_file"),
    path("studies/isotherms/<int:pk>/", isotherm.isotherm, name="isotherm"),
    path("studies/heats/<int:pk>/", restate.keptheat, name="keptheat"),
    path("register/products/<int:pk>/heat/", restate.heat_new, name="heat_new"),
    path("lots/<int:pk>/restate/", restate.lot_restate, name="lot_restate"),
]
