"""All addresses, by the walk: trees, hazards, removals, replanting, reports."""

from django.contrib.auth import views as auth_views
from django.urls import include, path

from config import field_page
from config.admin import site
from config.field import FIELD
from config.styleguide import styleguide
from hazards.field.urls import field_urls
from inventory.people_forms import SignInForm
from inventory.people_views import own_password
from inventory.views import choose_units

urlpatterns = [
    path(
        "login/",
        auth_views.LoginView.as_view(redirect_authenticated_user=True, authentication_form=SignInForm),
        name="login",
    ),
    path("logout/", auth_views.LogoutView.as_view(), name="logout"),
    path("account/password/", own_password, name="password"),
    path("units/", choose_units, name="units"),
    path("styleguide/", styleguide, name="styleguide"),
    path("admin/", site.urls),
    path("field/", field_page.shell, name="field-page"),
    path("field/sw.js", field_page.worker, name="field-worker"),
    path("field/manifest.webmanifest", field_page.manifest, name="field-manifest"),
    path("field/", include(field_urls(FIELD))),
    path("", include("hazards.public_urls")),
    path("", include("inventory.urls")),
    path("hazards/", include("hazards.urls")),
    path("removals/", include("removals.urls")),
    path("replanting/", include("replanting.urls")),
    path("", include("reports.urls")),
]
