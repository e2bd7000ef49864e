from django.apps import AppConfig


class FitoutsConfig(AppConfig):
    name = "fitouts"
    verbose_name = "Fitouts"

    def ready(self) -> None:
        from fitouts import (
            bulk,
            checks,  # noqa: F401  (registers them; needs the settings)
            finding,
        )

        finding.declare()
        bulk.declare_all()

        from fitouts import sheets

        sheets.register_all()
