from django.urls import path

from inventory import people_views, views

app_name = "inventory"
urlpatterns = [
    path("trees/<path:tag>/edit/", views.edit_tree, name="edit_tree"),
    path("trees/<path:tag>/photos/", views.add_photo, name="add_photo"),
    path("photos/<uuid:pk>/", views.photo, name="photo"),
    path("people/", people_views.people, name="people"),
    path("people/add/", people_views.add_person, name="add_person"),
    path("people/<int:pk>/", people_views.person, name="person"),
]
