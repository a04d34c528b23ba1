"""How a page answers: the change is made and said, or the refusal's sentence stands on the form."""

from __future__ import annotations

from collections.abc import Callable

from django import forms
from django.contrib import messages
from django.http import HttpRequest

from inventory.errors import Refused


def made(request: HttpRequest, form: forms.BaseForm, change: Callable[[], object], words: str) -> bool:
    """Whether ``change`` went through; ``words`` say so on the next page."""
    try:
        change()
    except Refused as refused:
        form.add_error(None, str(refused))
        return False
    messages.success(request, words)
    return True
