"""The web server's way in: gunicorn goldroom.wsgi."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "goldroom.settings")
application = get_wsgi_application()
