from django.urls import path

from inventory import import_views, people_views, views

app_name = "inventory"
urlpatterns = [
    path("trees/<path:tag>/edit/", views.edit_tree, name="edit_tree"),
    path("trees/<path:tag>/photos/", views.add_photo, name="add_photo"),
    path("photos/<uuid:pk>/", views.photo, name="photo"),
    path("imports/", import_views.imports, name="imports"),
    path("imports/<int:pk>/", import_views.import_run, name="import_run"),
    path("imports/<int:pk>/columns/", import_views.import_columns, name="import_columns"),
    path("imports/<int:pk>/preview/", import_views.import_preview, name="import_preview"),
    path("imports/<int:pk>/progress/", import_views.import_progress, name="import_progress"),
    path("imports/<int:pk>/cancel/", import_views.import_cancel, name="import_cancel"),
    path("imports/<int:pk>/refused.csv", import_views.import_refusals, name="import_refusals"),
    path("people/", people_views.people, name="people"),
    path("people/add/", people_views.add_person, name="add_person"),
    path("people/<int:pk>/", people_views.person, name="person"),
]
