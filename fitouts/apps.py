from django.apps import AppConfig


class FitoutsConfig(AppConfig):
    name = "fitouts"
    verbose_name = "Fitouts"

    def ready(self) -> None:
        from fitouts import checks  # noqa: F401  (registers them; needs the settings)
        from fitouts import finding

        finding.declare()
