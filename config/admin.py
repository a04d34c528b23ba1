"""The admin: reference data only, for administrators only. Nothing registers itself; all that is shown is listed here."""

from typing import Any

from django.contrib.admin import AdminSite
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.decorators import method_decorator

from hazards.admin import REFERENCE as HAZARDS
from inventory.access import Permission, allowed
from inventory.admin import REFERENCE as INVENTORY


class ReferenceSite(AdminSite):
    site_title = "Hingewood"
    site_header = "Hingewood: reference data"
    index_title = "Reference data and the record"
    site_url = "/"

    def has_permission(self, request: HttpRequest) -> bool:
        return allowed(request.user, Permission.ADMINISTER)

    @method_decorator(login_not_required)
    def login(self, request: HttpRequest, extra_context: dict[str, Any] | None = None) -> HttpResponse:
        """One door for all: who has signed in and may not come here is told so."""
        if self.has_permission(request):
            return redirect("admin:index")
        if request.user.is_authenticated:
            raise PermissionDenied("Your role may not correct reference data.")
        return redirect_to_login(request.GET.get("next") or reverse("admin:index"))

    def password_change(self, request: HttpRequest, extra_context: Any = None) -> Any:
        return redirect("password")


site = ReferenceSite(name="admin")
for model, shown in (INVENTORY | HAZARDS).items():
    site.register(model, shown)
