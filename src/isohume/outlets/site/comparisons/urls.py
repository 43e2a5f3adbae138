"""The addresses of the comparisons app."""

from __future__ import annotations

from django.urls import path

from isohume.outlets.site.comparisons.views import blind, gauge, instruments, overview, precision, rounds, sites

urlpatterns = [
    path("comparisons/", overview.comparisons, name="comparisons"),
    path("comparisons/instruments/", instruments.instrument_comparisons, name="instrument_comparisons"),
    path("comparisons/instruments/new/", instruments.comparison_new, name="comparison_new"),
    path("comparisons/instruments/<int:pk>/", instruments.instrument_comparison, name="instrumentcomparison"),
    path("comparisons/rounds/", rounds.rounds, name="rounds"),
    path("comparisons/rounds/new/", rounds.round_new, name="round_new"),
    path("comparisons/rounds/<int:pk>/", rounds.proficiency_round, name="proficiencyround"),
    path("comparisons/rounds/<int:pk>/explain/", rounds.round_explain, name="round_explain"),
    path("comparisons/precision/", precision.precision, name="precision"),
    path("comparisons/gauge/", gauge.gauge_studies, name="gauge_studies"),
    path("comparisons/gauge/new/", gauge.gauge_new, name="gauge_new"),
    path("comparisons/gauge/<int:pk>/", gauge.gauge_study, name="gaugestudy"),
    path("comparisons/sites/", sites.site_comparisons, name="site_comparisons"),
    path("comparisons/sites/new/", sites.site_comparison_new, name="site_comparison_new"),
    path("comparisons/sites/<int:pk>/", sites.site_comparison, name="sitecomparison"),
    path("comparisons/blind/", blind.blind_references, name="blind_references"),
    path("comparisons/blind/new/", blind.blind_new, name="blind_new"),
    path("comparisons/blind/<int:pk>/", blind.blind_reference, name="blindreference"),
    path("comparisons/blind/<int:pk>/read/", blind.blind_read, name="blind_read"),
    path("comparisons/blind/<int:pk>/decide/", blind.blind_decide, name="blind_decide"),
]
