"""The addresses of the people app."""

from __future__ import annotations

from django.urls import path, re_path

from isohume.outlets.site.people.views import accounts, scan, signing_in

ACTS = "competence|roles|invite-again|unlock|activate|deactivate"
urlpatterns = [
    path("sign-in/", signing_in.sign_in, name="sign_in"),
    path("sign-out/", signing_in.sign_out, name="sign_out"),
    path("lock/", signing_in.lock, name="lock"),
    path("set-up/<str:token>/", signing_in.set_up_page, name="set_up"),
    path("scan/", scan.scan, name="scan"),
    path("password/", accounts.password, name="password"),
    path("people/", accounts.people, name="people"),
    path("people/<int:pk>/", accounts.person, name="person"),
    re_path(rf"^people/(?P<pk>\d+)/(?P<act>{ACTS})/$", accounts.person_act, name="person_act"),
]
