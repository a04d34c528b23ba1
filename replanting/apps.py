from django.apps import AppConfig


class ReplantingConfig(AppConfig):
    name = "replanting"
