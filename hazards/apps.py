from django.apps import AppConfig


class HazardsConfig(AppConfig):
    name = "hazards"
