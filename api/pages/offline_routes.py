"""What a tablet asks for by itself."""

from django.urls import path

from api.pages import offline

urlpatterns = [
    path("service-worker.js", offline.service_worker, name="service-worker"),
    path("tablet/pages", offline.pages_to_keep, name="pages-to-keep"),
    path("tablet/answered", offline.answered, name="answered"),
    path("tablet/not-kept", offline.not_kept, name="not-kept"),
    path("tablet/entries", offline.entries, name="entries"),
]
