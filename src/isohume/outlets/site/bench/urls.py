"""The addresses of the bench app."""

from __future__ import annotations

from django.urls import URLPattern, path

from isohume.outlets.site.bench import shift_urls
from isohume.outlets.site.bench.views.today import hand_over_new, today

urlpatterns: list[URLPattern] = [
    *shift_urls.urlpatterns,
    path("", today, name="today"),
    path("hand-over/", hand_over_new, name="hand_over_new"),
]
