from django.apps import AppConfig
from django.contrib.auth.signals import user_logged_in
from django.utils.module_loading import autodiscover_modules


class ShopConfig(AppConfig):
    name = "studio.shop"
    label = "shop"

    def ready(self) -> None:
        """Let every room say what it does, and have its say before a step is undone."""
        autodiscover_modules("verbs", "undo", "checks")
        # Models are there only now.
        from studio.shop.doors import logins  # noqa: PLC0415

        user_logged_in.connect(logins.begin)
