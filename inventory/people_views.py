"""People and their roles, for the administrator; one's own password, for everybody."""

from __future__ import annotations

from typing import Any, cast

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from inventory import workflow
from inventory.access import Permission, Role, requires
from inventory.errors import Refused
from inventory.people_forms import AddPersonForm, OwnPasswordForm, PersonForm
from inventory.record import Actor


def everybody() -> Any:
    return User.objects.prefetch_related("groups").order_by("-is_active", "username")


def roles_of(person: User) -> list[Role]:
    held = {group.name for group in person.groups.all()}
    return [role for role in Role if role.value in held]


@requires(Permission.ADMINISTER)
def people(request: HttpRequest) -> HttpResponse:
    rows = [(person, [role.value for role in roles_of(person)]) for person in everybody()]
    return render(request, "inventory/people.html", {"rows": rows})


@requires(Permission.ADMINISTER)
def add_person(request: HttpRequest) -> HttpResponse:
    form = AddPersonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        added = workflow.add_person(by=Actor(request.user), **form.cleaned_data)
        messages.success(request, f"{added.get_full_name() or added.username} can sign in as {added.username}.")
        return redirect("inventory:people")
    return render(request, "inventory/add_person.html", {"form": form})


@requires(Permission.ADMINISTER)
def person(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(everybody(), pk=pk)
    initial = {"roles": [role.value for role in roles_of(found)], "active": found.is_active}
    form = PersonForm(request.POST or None, person=found, initial=initial)
    status = 200
    if request.method == "POST" and form.is_valid():
        try:
            workflow.change_person(by=Actor(request.user), person=found, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
            status = 409
        else:
            messages.success(request, f"{found.username} is up to date.")
            return redirect("inventory:people")
    return render(request, "inventory/person.html", {"person": found, "form": form}, status=status)


@requires(Permission.READ)
def own_password(request: HttpRequest) -> HttpResponse:
    form = OwnPasswordForm(request.POST or None, person=cast(User, request.user))
    if request.method == "POST" and form.is_valid():
        workflow.change_own_password(by=Actor(request.user), password=form.cleaned_data["password"])
        # The other sessions end; this one goes on.
        update_session_auth_hash(request, cast(User, request.user))
        messages.success(request, "Your password is changed.")
        return redirect("reports:home")
    return render(request, "inventory/own_password.html", {"form": form})
