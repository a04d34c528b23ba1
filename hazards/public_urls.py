"""Addresses for people without a login; each is shut until the city opens it."""

from django.urls import path

from hazards import open311_views, public_views

app_name = "public"
urlpatterns = [
    path("report-a-tree/", public_views.report, name="report"),
    path("report-a-tree/status/", public_views.find_status, name="find_status"),
    path("report-a-tree/<slug:reference>/", public_views.status, name="status"),
    path("report-a-tree/<slug:reference>/thanks/", public_views.thanks, name="thanks"),
    path("open311/v2/discovery.json", open311_views.discovery, name="open311_discovery"),
    path("open311/v2/services.json", open311_views.services, name="open311_services"),
    path("open311/v2/services/<slug:code>.json", open311_views.service, name="open311_service"),
    path("open311/v2/requests.json", open311_views.requests, name="open311_requests"),
    path("open311/v2/requests/<slug:reference>.json", open311_views.one_request, name="open311_request"),
    path("open311/v2/tokens/<uuid:token>.json", open311_views.token, name="open311_token"),
]
