"""Every address of the site, app by app."""

from __future__ import annotations

from django.urls import include, path

from isohume.outlets.site.config.settings import APPS, SITE

urlpatterns = [path("", include(f"{SITE}.{app}.urls")) for app in APPS]
handler404 = f"{SITE}.people.views.errors.not_found"
handler500 = f"{SITE}.people.views.errors.fault"
handler403 = f"{SITE}.people.views.errors.forbidden"
