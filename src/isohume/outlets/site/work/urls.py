"""The addresses of the work app."""

from __future__ import annotations

from django.urls import path

from isohume.outlets.site.work import views

urlpatterns = [
    path("jobs/<int:pk>/", views.job, name="job"),
    path("jobs/<int:pk>/result/", views.job_result, name="job_result"),
]
