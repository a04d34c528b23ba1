"""Content security policy as a response header, from the setting ``SECURE_CSP`` (the name that Django 6 uses)."""

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse


def policy_text(policy: dict[str, list[str]]) -> str:
    return "; ".join(f"{directive} {' '.join(sources)}" for directive, sources in policy.items())


class ContentSecurityPolicyMiddleware:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response
        self.header = policy_text(settings.SECURE_CSP)

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", self.header)
        return response
