from django.apps import AppConfig


class RemovalsConfig(AppConfig):
    name = "removals"
