from django.apps import AppConfig
from django.db.backends.signals import connection_created

from shop.connecting import keep_plans
from shop.moments import read_moments_quickly


class ShopConfig(AppConfig):
    name = "shop"
    verbose_name = "Shop"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        connection_created.connect(read_moments_quickly, dispatch_uid="quick-moments")
        connection_created.connect(keep_plans, dispatch_uid="keep-plans")
