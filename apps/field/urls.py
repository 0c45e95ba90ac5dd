"""Addresses of the field pages."""

from django.urls import path

from apps.field import views

app_name = "field"
urlpatterns = []
