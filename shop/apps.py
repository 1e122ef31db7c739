from django.apps import AppConfig


class ShopConfig(AppConfig):
    name = "shop"
    verbose_name = "Shop"
    default_auto_field = "django.db.models.BigAutoField"
