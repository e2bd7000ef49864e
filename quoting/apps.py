from django.apps import AppConfig


class QuotingConfig(AppConfig):
    name = "quoting"
    verbose_name = "Quoting"
