from django.urls import path

from reports import programme_views, tree_page, tree_views, views

app_name = "reports"
urlpatterns = [
    path("", views.home, name="home"),
    path("reports/", views.parks, name="parks"),
    path("reports/parks.csv", views.parks_csv, name="parks_csv"),
    path("reports/parks/<str:code>/", views.park, name="park"),
    path("reports/parks/<str:code>/report.csv", views.park_csv, name="park_csv"),
    path("reports/programme/", programme_views.the_programme, name="programme"),
    path("reports/programme.csv", programme_views.programme_csv, name="programme_csv"),
    path("trees/", tree_views.trees, name="trees"),
    path("trees.csv", tree_views.trees_csv, name="trees_csv"),
    path("labels/", tree_views.labels, name="labels"),
    # A tag may hold a slash: this one takes what the addresses before it leave.
    path("trees/<path:tag>/", tree_page.tree, name="tree"),
]
