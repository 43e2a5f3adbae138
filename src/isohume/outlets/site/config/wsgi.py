"""The pages as a WSGI application."""

from __future__ import annotations

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "isohume.outlets.site.config.settings")
application = get_wsgi_application()
