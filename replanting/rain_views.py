"""The rain that is known, and a table of it taken in."""

from __future__ import annotations

import io

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from inventory.access import Permission, requires
from inventory.errors import Refused
from inventory.paging import part_of
from inventory.record import Actor
from replanting.models import Rain
from replanting.weather import load_rain, read_rain

FILE_MOST = 2 * 1024**2


class RainForm(forms.Form):
    file = forms.FileField(
        label="Table of rain",
        help_text="CSV with the columns day (2026-07-04) and mm or inches; a column park with a park's code is optional.",
    )


@requires(Permission.READ, to_change=Permission.REPLANT)
def rain(request: HttpRequest) -> HttpResponse:
    posted = request.POST if request.method == "POST" else None
    form = RainForm(posted, request.FILES or None)
    status = 200
    if posted is not None and form.is_valid():
        try:
            count = _load(request, form)
        except (Refused, UnicodeDecodeError) as refusal:
            words = str(refusal) if isinstance(refusal, Refused) else "The table is not text in UTF-8; save it so."
            form.add_error("file", words)
            status = 409
        else:
            messages.success(request, f"{count} days of rain are loaded.")
            return redirect("replanting:rain")
    days = Rain.objects.select_related("park").defer("park__boundary")[:400]
    context = {"form": form, "page": part_of(list(days), request.GET.get("page", ""))}
    return render(request, "replanting/rain.html", context, status=status)


def _load(request: HttpRequest, form: RainForm) -> int:
    file = form.cleaned_data["file"]
    if file.size > FILE_MOST:
        raise Refused(f"The table is larger than {FILE_MOST // 1024**2} MB; load it in parts.")
    lines = io.StringIO(file.read().decode("utf-8-sig"), newline="")
    return load_rain(by=Actor(request.user), rows=read_rain(lines))
