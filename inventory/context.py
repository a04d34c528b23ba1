"""What every page knows of its reader: the units they chose and what they may do."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest

from inventory.access import Permission, permissions_of
from inventory.units import Units

UNITS_COOKIE = "units"


def units_of(request: HttpRequest) -> Units:
    """The reader's choice on this device; the city's default otherwise."""
    chosen = request.COOKIES.get(UNITS_COOKIE, settings.DEFAULT_UNITS)
    return Units.US if chosen == Units.US.value else Units.METRIC


def reader(request: HttpRequest) -> dict[str, Any]:
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return {"units": units_of(request), "may": {}}
    granted = permissions_of(user)
    return {
        "units": units_of(request),
        "may": {permission.name.lower(): permission in granted for permission in Permission},
    }
