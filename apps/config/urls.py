"""All addresses. A corridor's pages stand under its slug; everything else is a person's own."""

from django.urls import include, path

from apps.board.views import home
from apps.desk.several import everywhere

CORRIDOR = "c/<slug:slug>/"

urlpatterns = [
    path("", home, name="home"),
    path("desk/", everywhere, name="desks"),
    path("account/", include("allauth.urls")),
    path("you/", include("apps.people.urls")),
    path("you/", include("apps.mailing.urls")),
    path("installation/", include("apps.setup.installation.urls")),
    path(CORRIDOR, include("apps.board.urls")),
    path(CORRIDOR, include("apps.field.urls")),
    path(CORRIDOR, include("apps.desk.urls")),
    path(CORRIDOR, include("apps.dossier.urls")),
    path(CORRIDOR, include("apps.sheet.urls")),
    path(CORRIDOR, include("apps.bench.urls")),
    path(CORRIDOR, include("apps.setup.urls")),
]
