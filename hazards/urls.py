from django.urls import URLPattern

app_name = "hazards"
urlpatterns: list[URLPattern] = []
