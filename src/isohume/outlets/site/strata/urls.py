"""The addresses of the strata app."""

from __future__ import annotations

from django.urls import path

from isohume.outlets.site.strata.views import positions, sampling

urlpatterns = [
    path("lots/<int:pk>/positions/", positions.lot_positions, name="lot_positions"),
    path("register/products/<int:pk>/positions/", positions.product_positions, name="product_positions"),
    path("register/products/<int:pk>/sampling/", sampling.product_sampling, name="product_sampling"),
    path("register/position-maps/<int:pk>/", positions.positionmap, name="positionmap"),
    path("register/sampling-plans/<int:pk>/", sampling.samplingplan, name="samplingplan"),
]
