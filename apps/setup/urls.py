"""Addresses of setting up: requirements, what is still missing, the schedule, members and crews, terms."""

from django.urls import path

from apps.setup import members, views
from apps.setup.editions import views as editions
from apps.setup.materials import views as materials
from apps.setup.plans import alignments, designs

app_name = "setup"
urlpatterns = [
    path("requirements/", views.requirements, name="requirements"),
    path("requirements/editions/", editions.listed, name="editions"),
    path("requirements/editions/<int:number>/", editions.edition, name="edition"),
    path("requirements/editions/<int:number>/terms/", editions.terms, name="edition_terms"),
    path("requirements/editions/<int:number>/publish/", editions.publish, name="edition_publish"),
    path("requirements/editions/<int:number>/go/<str:what>/", editions.go, name="edition_go"),
    path("requirements/editions/<int:number>/tried/", editions.tried, name="edition_tried"),
    path("requirements/editions/<int:number>/new/", editions.edit, name="requirement_new"),
    path("requirements/editions/<int:number>/edit/<str:key>/", editions.edit, name="requirement_edit"),
    path("requirements/editions/<int:number>/<str:key>/", editions.requirement, name="requirement"),
    path("materials/", materials.materials, name="materials"),
    path("materials/<slug:kind>/", materials.add, name="material"),
    path("setup/", views.setup, name="setup"),
    path("setup/schedule/", views.schedule, name="schedule"),
    path("setup/members/", members.members, name="members"),
    path("setup/members/<uuid:key>/end/", members.end_role, name="end_role"),
    path("setup/crews/", members.add_crew, name="add_crew"),
    path("setup/terms/", members.terms, name="terms"),
    path("setup/alignments/", alignments.alignments, name="alignments"),
    path("setup/alignments/<uuid:pk>/", alignments.alignment, name="alignment"),
    path("setup/designs/", designs.designs, name="designs"),
    path("setup/designs/<uuid:pk>/", designs.design, name="design"),
]
