"""Pages of the ground floor."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from inventory.access import Permission, requires
from inventory.context import UNITS_COOKIE, units_of
from inventory.errors import Refused
from inventory.forms import EditTreeForm, PhotoForm
from inventory.models import Photo, Tree
from inventory.photos import add_photo as keep_photo
from inventory.record import Actor
from inventory.units import Units
from inventory.workflow import edit_tree as keep_tree

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


@requires(Permission.EDIT_TREE)
def edit_tree(request: HttpRequest, tag: str) -> HttpResponse:
    """Correct a tree's facts."""
    tree = get_object_or_404(Tree.objects.select_related("species"), tag=tag)
    form = EditTreeForm(request.POST or None, tree=tree, units=units_of(request))
    status = 200
    if request.method == "POST" and form.is_valid():
        try:
            tree = keep_tree(by=Actor(request.user), tree=tree, changes=form.changes(), seen=form.seen_at())
        except Refused as refusal:
            form.add_error(None, str(refusal))
            status = 409
        else:
            messages.success(request, f"{tree.tag} is up to date.")
            return redirect("reports:tree", tree.tag)
    return render(request, "inventory/edit_tree.html", {"tree": tree, "form": form}, status=status)


@requires(Permission.EDIT_TREE)
def add_photo(request: HttpRequest, tag: str) -> HttpResponse:
    """Send in a photo of a tree."""
    tree = get_object_or_404(Tree.objects.select_related("species"), tag=tag)
    form = PhotoForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        try:
            keep_photo(by=Actor(request.user), tree=tree, **form.cleaned_data)
        except Refused as refusal:
            form.add_error("file", str(refusal))
        else:
            messages.success(request, f"The photo is with {tree.tag}.")
            return redirect("reports:tree", tree.tag)
    return render(request, "inventory/add_photo.html", {"tree": tree, "form": form})


@requires(Permission.READ)
def photo(request: HttpRequest, pk: UUID) -> HttpResponseBase:
    """A photo's file, for people who have signed in; it never changes under its address."""
    found = get_object_or_404(Photo, pk=pk)
    try:
        response = FileResponse(found.image.open("rb"), content_type="image/jpeg")
    except FileNotFoundError as error:
        raise Http404("The photo's file is not where it was put.") from error
    response["Cache-Control"] = "private, max-age=31536000, immutable"
    return response
