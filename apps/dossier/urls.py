"""Addresses of the auditor: stations, one station's record, entries, photos, papers, audits."""

from django.urls import path

from apps.dossier import proof, views
from apps.dossier.audits import views as audits

app_name = "dossier"
urlpatterns = [
    path("record/", views.stations, name="stations"),
    path("record/entries/<int:sequence>/", views.entry, name="entry"),
    path("record/entries/<int:sequence>/correct/", proof.correct, name="correct"),
    path("record/proof/", proof.proof, name="proof"),
    path("record/proof/bundle/", proof.whole_bundle, name="whole_bundle"),
    path("record/heads/<int:size>.json", proof.head, name="head"),
    path("record/audits/", audits.listed, name="audits"),
    path("record/audits/new/", audits.draw, name="audit_new"),
    path("record/audits/<int:number>/", audits.audit, name="audit"),
    path("record/audits/<int:number>/close/", audits.close, name="audit_close"),
    path("record/audits/<int:number>/paper/", audits.paper, name="audit_paper"),
    path("record/audits/<int:number>/frame.csv", audits.framed, name="audit_frame"),
    path("record/audits/<int:number>/<int:place>/", audits.drawn, name="audit_drawn"),
    path("record/dossiers/", views.dossiers, name="dossiers"),
    path("record/<str:mark>/", views.station, name="station"),
    path("record/<str:mark>/on/", proof.past, name="past"),
    path("record/<str:mark>/bundle/", proof.station_bundle, name="station_bundle"),
    path("record/<str:mark>/dossier.pdf", views.dossier, name="dossier"),
    path("photos/<uuid:attachment>/", views.photo, name="photo"),
    path("papers/<uuid:attachment>/", views.filed, name="paper"),
]
