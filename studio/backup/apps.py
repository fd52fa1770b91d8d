from django.apps import AppConfig


class BackupConfig(AppConfig):
    name = "studio.backup"
    label = "backup"
