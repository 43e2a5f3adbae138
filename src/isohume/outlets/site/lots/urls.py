"""The addresses of the lots app."""

from __future__ import annotations

from django.urls import path, re_path

from isohume.outlets.site.lots.views import companions, deviations, lots, signing

urlpatterns = [
    path("lots/", lots.lots, name="lots"),
    path("lots/<int:pk>/", lots.lot, name="lot"),
    re_path(r"^lots/(?P<pk>[0-9]{1,15})/(?P<act>judge|hold)/$", lots.lot_act, name="lot_act"),
    path("lots/<int:pk>/moisture/", companions.moisture_new, name="moisture_new"),
    path("lots/<int:pk>/ph/", companions.ph_new, name="ph_new"),
    path("sign/", signing.sign, name="sign"),
    path("deviations/", deviations.deviations, name="deviations"),
    path("deviations/<int:pk>/", deviations.deviation, name="deviation"),
    re_path(r"^deviations/(?P<pk>[0-9]{1,15})/(?P<act>own|close)/$", deviations.deviation_act, name="deviation_act"),
]
