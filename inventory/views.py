"""Pages of the ground floor."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from inventory.context import UNITS_COOKIE
from inventory.units import Units

A_YEAR_S = 365 * 24 * 3600


@login_not_required
@require_POST
def choose_units(request: HttpRequest) -> HttpResponse:
    """Remember the reader's units on this device and go back to the page they came from."""
    chosen = Units.US if request.POST.get("units") == Units.US.value else Units.METRIC
    back = request.POST.get("next", "")
    if not url_has_allowed_host_and_scheme(back, {request.get_host()}):
        back = reverse("reports:home")
    response = HttpResponseRedirect(back)
    response.set_cookie(UNITS_COOKIE, chosen.value, max_age=A_YEAR_S, samesite="Lax", secure=request.is_secure())
    return response
