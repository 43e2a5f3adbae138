"""The addresses of a shift of samples: intake, cups, runs, second keying, import, labels, in-process readings."""

from __future__ import annotations

from django.urls import URLPattern, path, re_path

from isohume.outlets.site.bench.views import cups, importing, in_process, intake, labels, run, second_keying, shift

urlpatterns: list[URLPattern] = [
    path("shift/", shift.shift, name="shift"),
    path("shift/<int:pk>/", shift.shift_row, name="shift_row"),
    path("lots/new/", intake.lot_new, name="lot_new"),
    path("samples/new/", intake.sample_new, name="sample_new"),
    path("samples/<int:pk>/", cups.sample, name="sample"),
    path("cups/<int:pk>/", cups.portion, name="portion"),
    re_path(r"^cups/(?P<pk>\d+)/(?P<act>cover|temperature|discard)/$", cups.portion_act, name="portion_act"),
    path("tempering/", cups.tempering_queue, name="tempering"),
    path("tempering/<int:pk>/", cups.tempering_row, name="tempering_row"),
    path("runs/<int:pk>/", run.run, name="run"),
    re_path(r"^runs/(?P<pk>\d+)/(?P<act>correct|void)/$", run.run_act, name="run_act"),
    path("second-keying/", second_keying.second_keying, name="second_keying"),
    path("second-keying/<int:pk>/", second_keying.second_keying_row, name="second_keying_row"),
    path("import/", importing.import_runs, name="import_runs"),
    path("import/<int:pk>/", importing.importedfile, name="importedfile"),
    path("labels/", labels.labels, name="labels"),
    path("in-process/", in_process.in_process, name="in_process"),
    path("in-process/<int:pk>/", in_process.inprocessreading, name="inprocessreading"),
]
