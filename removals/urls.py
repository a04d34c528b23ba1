from django.urls import URLPattern

app_name = "removals"
urlpatterns: list[URLPattern] = []
