from django.apps import AppConfig
from django.contrib.auth.signals import user_login_failed
from django.db.models.signals import post_migrate, pre_migrate


class ShopConfig(AppConfig):
    name = "shop"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self):
        from axes.signals import user_locked_out

        from shop.changes import triggers
        from shop.keeping import journal

        pre_migrate.connect(triggers.make_way, sender=self)
        post_migrate.connect(triggers.install, sender=self)
        user_login_failed.connect(journal.note_failed_sign_in)
        user_locked_out.connect(journal.note_locked_out)
