from django.apps import AppConfig
from django.db.models.signals import post_migrate


class ShopConfig(AppConfig):
    name = "shop"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self):
        from shop.changes import triggers

        post_migrate.connect(triggers.install, sender=self)
