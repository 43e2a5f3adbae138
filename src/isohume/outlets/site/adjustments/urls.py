"""The addresses of the adjustments app."""

from __future__ import annotations

from django.urls import URLPattern, path

from isohume.outlets.site.adjustments.views.adjusting import adjustment_new, adjustments
from isohume.outlets.site.adjustments.views.corrections import (
    correction,
    correction_caps,
    correction_end,
    correction_new,
)
from isohume.outlets.site.adjustments.views.sequence import check_sequence, fresh_portion

urlpatterns: list[URLPattern] = [
    path("checks/<int:pk>/sequence/", check_sequence, name="check_sequence"),
    path("checks/<int:pk>/fresh-portion/", fresh_portion, name="fresh_portion"),
    path("register/instruments/<int:pk>/adjustments/", adjustments, name="adjustments"),
    path("register/instruments/<int:pk>/adjustments/new/", adjustment_new, name="adjustment_new"),
    path("register/instruments/<int:pk>/corrections/new/", correction_new, name="correction_new"),
    path("register/methods/<int:pk>/correction-caps/", correction_caps, name="correction_caps"),
    path("corrections/<int:pk>/", correction, name="correction"),
    path("corrections/<int:pk>/end/", correction_end, name="correction_end"),
]
