"""Addresses of a person's own settings."""

from django.urls import path

from apps.people import views

app_name = "people"
urlpatterns = [
    path("theme/", views.theme, name="theme"),
    path("signing/", views.ask_passkey, name="ask_passkey"),
]
