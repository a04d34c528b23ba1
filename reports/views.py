"""The overview: where the city's trees stand today."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.access import Permission, requires


@requires(Permission.READ)
def home(request: HttpRequest) -> HttpResponse:
    return render(request, "reports/home.html")
