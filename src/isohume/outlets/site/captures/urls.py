"""The addresses of the captures app."""

from __future__ import annotations

from django.urls import URLPattern, path, re_path

from isohume.outlets.site.captures.views import accounting, agents, api, captured, check_of_runs, live, next_run

ONE = r"^captured/(?P<pk>\d{1,15})"

urlpatterns: list[URLPattern] = [
    path("live/", live.live, name="live"),
    path("live/next/", live.live_next, name="live_next"),
    re_path(r"^live/(?P<pk>\d{1,15})/(?P<act>accept|void)/$", live.live_act, name="live_act"),
    path("live/notices/", live.live_notices, name="live_notices"),
    path("captured/<int:pk>/", captured.capturedrun, name="capturedrun"),
    re_path(f"{ONE}/(?P<act>accept|void|assign)/$", captured.capturedrun_act, name="capturedrun_act"),
    re_path(rf"{ONE}/trace\.(?P<kind>csv|parquet)$", captured.captured_export, name="captured_export"),
    path("captured/check/", check_of_runs.captured_check, name="captured_check"),
    path("accounting/", accounting.accounting, name="accounting"),
    path("accounting/deviation/", accounting.accounting_deviation, name="accounting_deviation"),
    path("captured/next/<int:pk>/", next_run.expected, name="expected"),
    path("captured/next/<int:pk>/drop/", next_run.expected_drop, name="expected_drop"),
    path("agents/", agents.agents, name="agents"),
    path("agents/<int:pk>/", agents.agent, name="agent"),
    path("agents/<int:pk>/revoke/", agents.agent_revoke, name="agent_revoke"),
    path("api/v1/captured", api.captured_in, name="captured_in"),
    path("api/v1/captured/last", api.captured_last, name="captured_last"),
]
