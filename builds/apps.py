from importlib import import_module

from django.apps import AppConfig

from builds import frozen


class BuildsConfig(AppConfig):
    name = "builds"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        frozen.declare()
        import_module("builds.reports.rings")  # it declares itself; it knows the models, which are not there before
