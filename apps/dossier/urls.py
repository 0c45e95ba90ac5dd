"""Addresses of the auditor: stations, one station's record, entries, photos."""

from django.urls import path

from apps.dossier import proof, views

app_name = "dossier"
urlpatterns = [
    path("record/", views.stations, name="stations"),
    path("record/entries/<int:sequence>/", views.entry, name="entry"),
    path("record/entries/<int:sequence>/correct/", proof.correct, name="correct"),
    path("record/proof/", proof.proof, name="proof"),
    path("record/heads/<int:size>.json", proof.head, name="head"),
    path("record/<str:mark>/", views.station, name="station"),
    path("record/<str:mark>/on/", proof.past, name="past"),
    path("record/<str:mark>/bundle/", proof.station_bundle, name="station_bundle"),
    path("photos/<uuid:attachment>/", views.photo, name="photo"),
]
