from django.urls import path

from hazards import (
    closure_views,
    inspect_views,
    pest_views,
    policy_views,
    ranking_views,
    views,
    watch_views,
    work_views,
)

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
    path("work/", work_views.work, name="work"),
    path("work/<int:pk>/", work_views.order, name="work_order"),
    path("work/<int:pk>/schedule/", work_views.schedule_work, name="schedule_work"),
    path("work/<int:pk>/done/", work_views.work_done, name="work_done"),
    path("work/<int:pk>/withdraw/", work_views.withdraw_work, name="withdraw_work"),
    path("closures/", closure_views.closure_list, name="closures"),
    path("closures/add/", closure_views.close_area, name="close_area"),
    path("closures/<uuid:pk>/lift/", closure_views.lift, name="lift_closure"),
    path("targets/", views.target_parks, name="target_parks"),
    path("targets/<int:pk>/", views.edit_target, name="edit_target"),
    path("parks/<str:code>/targets/", views.targets, name="targets"),
    # A tag may hold a slash.
    path("preview/<path:tag>/", inspect_views.preview, name="preview"),
    path("propose/<path:tag>/", work_views.propose_work, name="propose_work"),
    path("look/<path:tag>/", work_views.ask_for_look, name="ask_look"),
    path("close/<path:tag>/", closure_views.close_for_tree, name="close_for_tree"),
    path("inspect/<path:tag>/", inspect_views.inspect, name="inspect"),
]
