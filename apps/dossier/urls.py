"""Addresses of the auditor: stations, one station's record, entries, photos."""

from django.urls import path

from apps.dossier import views

app_name = "dossier"
urlpatterns = [
    path("record/", views.stations, name="stations"),
    path("record/entries/<int:sequence>/", views.entry, name="entry"),
    path("record/dossiers/", views.dossiers, name="dossiers"),
    path("record/<str:mark>/", views.station, name="station"),
    path("record/<str:mark>/dossier.pdf", views.dossier, name="dossier"),
    path("photos/<uuid:attachment>/", views.photo, name="photo"),
]
