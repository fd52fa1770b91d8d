from django.apps import AppConfig


class ShopConfig(AppConfig):
    name = "studio.shop"
    label = "shop"
