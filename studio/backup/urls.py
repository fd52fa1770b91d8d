from django.urls import path

from studio.backup import views

urlpatterns = [
    path("studio/backups/", views.backups, name="backups"),
    path("studio/backups/now/", views.backup_now, name="backup-now"),
    path("studio/backups/place/", views.backup_place, name="backup-place"),
    path("studio/backups/passphrase/", views.backup_passphrase, name="backup-passphrase"),
    path("studio/backups/everything.zip", views.everything, name="everything"),
    path("studio/backups/take-back/", views.backup_take_back, name="backup-take-back"),
    path("studio/backups/copies/<str:name>/", views.backup_copy, name="backup-copy"),
    path("studio/backups/copies/<str:name>/look/", views.backup_look, name="backup-look"),
    path(
        "studio/backups/copies/<str:name>/put-back/", views.backup_put_back, name="backup-put-back"
    ),
    path("studio/backups/files/<str:name>", views.backup_file, name="backup-file"),
]
