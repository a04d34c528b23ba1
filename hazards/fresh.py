"""Whoever opens a page sees a ranking that knows of the latest correction and import.

The ground floor changes trees and knows nothing of ratings; the database marks the rows concerned, and the next look at any
page works them out again, a bounded number at a time. It costs a look into an index that is nearly always empty.
"""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from hazards.workflow import restand_stale

AT_MOST_A_PAGE = 500


class FreshRankingMiddleware:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.method == "GET" and request.user.is_authenticated:
            restand_stale(AT_MOST_A_PAGE)
        return self.get_response(request)
