from django.apps import AppConfig
from django.db.models.signals import post_migrate


class CatalogConfig(AppConfig):
    name = "catalog"
    verbose_name = "Catalogue"

    def ready(self) -> None:
        from catalog import bulk_types, findables, stamps

        findables.declare()
        bulk_types.declare_all()
        post_migrate.connect(stamps.lay_triggers, sender=self, dispatch_uid="lay stamps")
