"""The addresses of the register app."""

from __future__ import annotations

from django.urls import path, re_path

from isohume.outlets.site.register.views import instruments, methods, overview, products, solutions

urlpatterns = [
    path("register/", overview.register, name="register"),
    path("register/due/", overview.due, name="due"),
    path("register/instruments/", instruments.instruments, name="instruments"),
    path("register/instruments/new/", instruments.instrument_new, name="instrument_new"),
    path("register/instruments/<int:pk>/", instruments.instrument, name="instrument"),
    re_path(
        r"^register/instruments/(?P<pk>\d+)/(?P<act>change|withdraw|return)/$",
        instruments.instrument_act,
        name="instrument_act",
    ),
    path("register/methods/", methods.methods, name="methods"),
    path("register/methods/new/", methods.method_new, name="method_new"),
    path("register/methods/<int:pk>/", methods.method, name="method"),
    re_path(r"^register/methods/(?P<pk>\d+)/(?P<act>version)/$", methods.method_act, name="method_act"),
    path("register/method-versions/<int:pk>/", methods.methodversion, name="methodversion"),
    re_path(
        r"^register/method-versions/(?P<pk>\d+)/(?P<act>budget)/$", methods.methodversion_act, name="methodversion_act"
    ),
    path("register/solutions/", solutions.solutions, name="solutions"),
    path("register/solutions/new/", solutions.solution_new, name="solution_new"),
    path("register/solutions/<int:pk>/", solutions.solutionlot, name="solutionlot"),
    re_path(
        r"^register/solutions/(?P<pk>\d+)/(?P<act>bottle|weighing|withdraw)/$",
        solutions.solutionlot_act,
        name="solutionlot_act",
    ),
    path("register/bottles/<int:pk>/", solutions.bottle, name="bottle"),
    re_path(r"^register/bottles/(?P<pk>\d+)/(?P<act>open|discard)/$", solutions.bottle_act, name="bottle_act"),
    path("register/products/", products.products, name="products"),
    path("register/products/new/", products.product_new, name="product_new"),
    path("register/products/<int:pk>/", products.product, name="product"),
    re_path(r"^register/products/(?P<pk>\d+)/(?P<act>specification)/$", products.product_act, name="product_act"),
    path("register/specifications/<int:pk>/", products.specificationversion, name="specificationversion"),
]
