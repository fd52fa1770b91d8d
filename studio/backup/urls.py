from django.urls import path

from studio.backup import views

urlpatterns = [
    path("studio/backups/", views.backups, name="backups"),
    path("studio/backups/now/", views.backup_now, name="backup-now"),
    path("studio/backups/place/", views.backup_place, name="backup-place"),
    path("studio/backups/passphrase/", views.backup_passphrase, name="backup-passphrase"),
    path("studio/backups/everything.zip", views.everything, name="everything"),
    path("studio/backups/files/<str:name>", views.backup_file, name="backup-file"),
]
