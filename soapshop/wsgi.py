"""The WSGI application, for waitress, gunicorn and others."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "soapshop.settings")

application = get_wsgi_application()
