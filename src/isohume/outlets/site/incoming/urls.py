"""The addresses of the incoming app."""

from __future__ import annotations

from django.urls import path, re_path

from isohume.outlets.site.incoming.views import history, suppliers

urlpatterns = [
    path("register/incoming/", suppliers.incoming, name="incoming"),
    path("register/incoming/materials/new/", suppliers.suppliermaterial_new, name="suppliermaterial_new"),
    path("register/incoming/materials/<int:pk>/", suppliers.suppliermaterial, name="suppliermaterial"),
    path("register/incoming/lots/new/", suppliers.supplierlot_new, name="supplierlot_new"),
    path("register/incoming/lots/<int:pk>/", suppliers.supplierlot, name="supplierlot"),
    path(
        "register/incoming/lots/<int:pk>/determination/", suppliers.supplierlot_determine, name="supplierlot_determine"
    ),
    re_path(
        r"^register/incoming/lots/(?P<pk>\d+)/(?P<act>accept|hold|reject)/$",
        suppliers.supplierlot_decide,
        name="supplierlot_decide",
    ),
    path("register/history/", history.history, name="history"),
    path("register/history/new/", history.history_new, name="history_new"),
    path("register/history/<int:pk>/", history.historicfile, name="historicfile"),
    path("register/history/<int:pk>/file/", history.historicfile_raw, name="historicfile_raw"),
]
