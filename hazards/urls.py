from django.urls import path

from hazards import inspect_views, pest_views, policy_views, ranking_views, views, watch_views

app_name = "hazards"
urlpatterns = [
    path("", views.ranking, name="ranking"),
    path("ranking.csv", ranking_views.ranking_csv, name="ranking_csv"),
    path("ranking.xlsx", ranking_views.ranking_xlsx, name="ranking_xlsx"),
    path("print/", ranking_views.ranking_print, name="ranking_print"),
    path("views/", ranking_views.keep_view, name="keep_view"),
    path("views/<int:pk>/drop/", ranking_views.drop_view, name="drop_view"),
    path("due/", views.due, name="due"),
    path("inspections/<uuid:pk>/", views.inspection, name="inspection"),
    path("inspections/<uuid:pk>/correct/", inspect_views.correct, name="correct"),
    path("watch/", watch_views.mortality_watch, name="watch"),
    path("policy/", policy_views.policy, name="policy"),
    path("pests/", pest_views.pests, name="pests"),
    path("pests/<int:pk>/", pest_views.pest, name="pest"),
    path("targets/", views.target_parks, name="target_parks"),
    path("targets/<int:pk>/", views.edit_target, name="edit_target"),
    path("parks/<str:code>/targets/", views.targets, name="targets"),
    # A tag may hold a slash.
    path("preview/<path:tag>/", inspect_views.preview, name="preview"),
    path("inspect/<path:tag>/", inspect_views.inspect, name="inspect"),
]
