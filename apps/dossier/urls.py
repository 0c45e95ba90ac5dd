"""Addresses of the dossier pages."""

from django.urls import path

from apps.dossier import views

app_name = "dossier"
urlpatterns = []
