"""The addresses of the records app; a record's id is R and digits, so no path can hide in it."""

from __future__ import annotations

from django.urls import path, re_path

from isohume.outlets.site.records.views import certificate, records

RECORD = r"(?P<record>R\d{6,12})"
WHAT = r"(?P<what>json|readings|\d{1,2})"
urlpatterns = [
    path("records/", records.records, name="records"),
    path("records/verify/", records.verify, name="verify"),
    re_path(rf"^records/{RECORD}/$", records.record, name="record"),
    re_path(rf"^records/{RECORD}/export/{WHAT}/$", records.record_export, name="record_export"),
    re_path(rf"^records/{RECORD}/certificate/$", certificate.certificate, name="certificate"),
    re_path(rf"^records/{RECORD}\.pdf$", certificate.certificate_pdf, name="certificate_pdf"),
]
