"""The addresses of the lookback app."""

from __future__ import annotations

from django.urls import URLPattern, path

from isohume.outlets.site.lookback.views import look_back, whereabouts

urlpatterns: list[URLPattern] = [
    path("checks/<int:pk>/look-back/", look_back.look_back, name="look_back"),
    path("checks/<int:pk>/look-back/hold/", look_back.look_back_hold, name="look_back_hold"),
    path("checks/<int:pk>/look-back/sheet/", look_back.look_back_sheet, name="look_back_sheet"),
    path("lots/<int:pk>/whereabouts/", whereabouts.whereabouts, name="whereabouts"),
    path("lots/<int:pk>/whereabouts/retain/", whereabouts.retain_new, name="retain_new"),
    path("lots/<int:pk>/whereabouts/shipment/", whereabouts.shipment_new, name="shipment_new"),
    path("retains/<int:pk>/use/", whereabouts.retain_use, name="retain_use"),
    path("shipments/<int:pk>/told/", whereabouts.shipment_told, name="shipment_told"),
]
