"""Addresses of the installation: corridors and people."""

from django.urls import path

from apps.setup.installation import views

app_name = "installation"
urlpatterns = [
    path("", views.overview, name="overview"),
    path("corridors/new/", views.open_corridor, name="open_corridor"),
    path("people/new/", views.add_person, name="add_person"),
    path("people/<str:username>/", views.person, name="person"),
    path("people/<str:username>/account/", views.account, name="account"),
]
