"""Addresses of the setup pages."""

from django.urls import path

from apps.setup import views

app_name = "setup"
urlpatterns = []
