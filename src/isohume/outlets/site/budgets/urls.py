"""The addresses of the budgets app."""

from __future__ import annotations

from django.urls import path

from isohume.outlets.site.budgets.views import refresh

urlpatterns = [
    path("register/budgets/", refresh.budgets, name="budgets"),
    path("register/budgets/method-versions/<int:pk>/", refresh.budget_refresh, name="budget_refresh"),
    path("register/budgets/<int:pk>/", refresh.budgetrefresh, name="budgetrefresh"),
]
