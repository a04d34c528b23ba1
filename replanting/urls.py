from django.urls import URLPattern

app_name = "replanting"
urlpatterns: list[URLPattern] = []
