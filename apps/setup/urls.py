"""Addresses of setting up: requirements, what is still missing, the schedule."""

from django.urls import path

from apps.setup import views

app_name = "setup"
urlpatterns = [
    path("requirements/", views.requirements, name="requirements"),
    path("setup/", views.setup, name="setup"),
    path("setup/schedule/", views.schedule, name="schedule"),
]
