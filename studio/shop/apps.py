from django.apps import AppConfig
from django.utils.module_loading import autodiscover_modules


class ShopConfig(AppConfig):
    name = "studio.shop"
    label = "shop"

    def ready(self) -> None:
        """Let every room say what it does, and have its say before a step is undone."""
        autodiscover_modules("verbs", "undo", "checks")
