"""The way in for a web server, gunicorn goldroom.wsgi; only if the checks pass."""

import os
import sys

from django.core.management import call_command
from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "goldroom.settings")
application = get_wsgi_application()
# A web server, unlike runserver, asks for no checks; its output is for requests.
call_command("check", stdout=sys.stderr)
