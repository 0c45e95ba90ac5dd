"""Addresses of the desk pages."""

from django.urls import path

from apps.desk import views

app_name = "desk"
urlpatterns = []
