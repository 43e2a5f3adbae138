"""The addresses of the ledger app."""

from __future__ import annotations

from django.urls import path

from isohume.outlets.site.ledger.views import trail

urlpatterns = [path("trail/<str:kind>/<int:pk>/", trail, name="trail")]
