from django.urls import path

from replanting import care_views, choice_views, ledger_views, parting_views, policy_views, views

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
    path("tasks/<int:pk>/waive/", parting_views.waive, name="waive"),
    path("tasks/<int:pk>/move/", parting_views.move, name="move"),
    path("tasks/<int:pk>/split/", parting_views.split, name="split"),
    path("tasks/<int:pk>/merge/", parting_views.merge, name="merge"),
    path("tasks/<int:pk>/obstacle/", parting_views.obstacle, name="obstacle"),
    path("tasks/<int:pk>/owed/", parting_views.fix, name="fix"),
    path("obstacles/<int:pk>/cleared/", parting_views.cleared, name="cleared"),
    path("policy/", policy_views.policy, name="policy"),
]
