"""All addresses, by the walk: trees, hazards, removals, replanting, reports."""

from django.contrib import admin
from django.contrib.auth import views as auth_views
from django.urls import include, path

from config.styleguide import styleguide
from inventory.views import choose_units

urlpatterns = [
    path("login/", auth_views.LoginView.as_view(redirect_authenticated_user=True), name="login"),
    path("logout/", auth_views.LogoutView.as_view(), name="logout"),
    path("units/", choose_units, name="units"),
    path("styleguide/", styleguide, name="styleguide"),
    path("admin/", admin.site.urls),
    path("", include("inventory.urls")),
    path("hazards/", include("hazards.urls")),
    path("removals/", include("removals.urls")),
    path("replanting/", include("replanting.urls")),
    path("", include("reports.urls")),
]
