"""The addresses of the charts app."""

from __future__ import annotations

from django.urls import path, re_path

from isohume.outlets.site.charts.views import capability, chart

urlpatterns = [
    path("charts/", chart.charts, name="charts"),
    path("charts/rules/", chart.chart_rules, name="chart_rules"),
    path("charts/review/", chart.chart_review, name="chart_review"),
    path("charts/control-product/", chart.control_product_new, name="control_product_new"),
    path("charts/<int:pk>/", chart.chart, name="chart"),
    re_path(r"^charts/(?P<pk>\d+)/(?P<act>rules|event|end)/$", chart.chart_act, name="chart_act"),
    path("charts/products/<int:pk>/capability/", capability.product_capability, name="product_capability"),
]
