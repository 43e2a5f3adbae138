"""The addresses of the outbox app."""

from __future__ import annotations

from django.urls import path

from isohume.outlets.site.outbox.views.page import outbox, outbox_token, outbox_worker

urlpatterns = [
    path("outbox/", outbox, name="outbox"),
    path("outbox/token/", outbox_token, name="outbox_token"),
    path("outbox-worker.js", outbox_worker, name="outbox_worker"),
]
