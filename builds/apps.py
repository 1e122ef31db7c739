from django.apps import AppConfig

from builds import frozen


class BuildsConfig(AppConfig):
    name = "builds"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        frozen.declare()
