from django.urls import path

from replanting import care_views, choice_views, ledger_views, views

app_name = "replanting"
urlpatterns = [
    path("", views.tasks, name="tasks"),
    path("ledger/", ledger_views.ledger, name="ledger"),
    path("care/", care_views.care, name="care"),
    path("care/losses/", care_views.losses, name="losses"),
    path("care/<int:pk>/tap/", care_views.tap, name="tap"),
    path("tasks/<int:pk>/", views.task, name="task"),
    path("tasks/<int:pk>/species/", choice_views.candidates, name="candidates"),
    path("tasks/<int:pk>/species/<int:species>/", choice_views.choose, name="choose_species"),
    path("tasks/<int:pk>/order/", views.order, name="order"),
    path("tasks/<int:pk>/plant/", views.plant, name="plant"),
    path("tasks/<int:pk>/set-aside/", views.set_aside, name="set_aside"),
    path("tasks/<int:pk>/visit/", views.visit, name="visit"),
    path("tasks/<int:pk>/establish/", views.establish, name="establish"),
    path("tasks/<int:pk>/fail/", views.fail, name="fail"),
    path("tasks/<int:pk>/waive/", views.waive, name="waive"),
]
