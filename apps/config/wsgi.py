"""The application that a WSGI server loads: gunicorn, runserver and manage.py demo alike. A worker of jobs starts beside it."""

import os

from django.conf import settings
from django.core.wsgi import get_wsgi_application

from apps.jobs import beside

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "apps.config.settings")
application = get_wsgi_application()
if settings.WORKER_BESIDE:
    beside.start()
