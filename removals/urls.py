from django.urls import path

from removals import after_views, briefing_views, method_views, place_views, plan_views, views

app_name = "removals"
urlpatterns = [
    path("", views.orders, name="orders"),
    path("<int:pk>/", views.order, name="order"),
    path("<int:pk>/approve/", views.approve, name="approve"),
    path("<int:pk>/schedule/", views.schedule, name="schedule"),
    path("<int:pk>/withdraw/", views.withdraw, name="withdraw"),
    path("<int:pk>/fell/", after_views.fell, name="fell"),
    path("<int:pk>/lodged/", after_views.lodged, name="lodged"),
    path("<int:pk>/lodged/cleared/", after_views.clear_lodged, name="clear_lodged"),
    path("<int:pk>/down/", views.down, name="down"),
    path("<int:pk>/close/", views.close, name="close"),
    path("<int:pk>/plan/", plan_views.make_plan, name="plan"),
    path("<int:pk>/sheet/", plan_views.sheet, name="sheet"),
    path("<int:pk>/place/", place_views.place, name="place"),
    path("<int:pk>/place/remove/", place_views.remove_thing, name="remove_thing"),
    path("<int:pk>/place/accept/", place_views.accept, name="accept"),
    path("<int:pk>/place/take-back/", place_views.take_back, name="take_back"),
    path("<int:pk>/methods/", method_views.methods, name="methods"),
    path("rules/", method_views.rules, name="rules"),
    path("lodged/", after_views.lodged_trees, name="lodged_trees"),
    path("alarms/", after_views.alarm_list, name="alarms"),
    path("near-misses/", after_views.near_miss_list, name="near_misses"),
    path("learning/", after_views.learned, name="learning"),
    path("plans/<int:pk>/", plan_views.felling_plan, name="felling_plan"),
    path("plans/<int:pk>/briefing/", briefing_views.briefing, name="briefing"),
    path("briefings/<uuid:pk>/", briefing_views.held_briefing, name="held_briefing"),
    path("propose/<path:tag>/", views.propose, name="propose"),
    path("fallen/<path:tag>/", views.tree_down, name="tree_down"),
]
