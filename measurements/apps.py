from django.apps import AppConfig

from measurements import frozen


class MeasurementsConfig(AppConfig):
    name = "measurements"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        frozen.declare()
