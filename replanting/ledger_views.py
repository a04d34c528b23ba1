"""The ledger of promises by park and year, how they were kept, and when the crowns will be back."""

from __future__ import annotations

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from inventory.access import Permission, requires
from inventory.models import Park
from replanting.canopy import forecast
from replanting.crowns import crowns
from replanting.ledger import by_park_and_year, in_all


class ParkForm(forms.Form):
    park = forms.ModelChoiceField(
        Park.objects.only("code", "name").order_by("name"),
        to_field_name="code",
        empty_label="All parks",
        required=False,
    )


@requires(Permission.READ)
def ledger(request: HttpRequest) -> HttpResponse:
    today = timezone.localdate()
    form = ParkForm(request.GET)
    park = form.cleaned_data.get("park") if form.is_valid() else None
    found = crowns(park)
    context = {
        "form": form,
        "folded": not request.GET,
        "park": park,
        "all": in_all(today, park),
        "lines": by_park_and_year(today, park),
        "crowns": found,
        "forecast": forecast(found.taken_m2, found.plantings, today.year),
    }
    return render(request, "replanting/ledger.html", context)
