from django.apps import AppConfig


class FitoutsConfig(AppConfig):
    name = "fitouts"
    verbose_name = "Fitouts"
