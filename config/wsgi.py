"""The door for web servers: it opens only when the settings pass their checks."""

from __future__ import annotations

import os

from django.core.checks import ERROR, Tags, run_checks
from django.core.exceptions import ImproperlyConfigured
from django.core.handlers.wsgi import WSGIHandler
from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")


def checked_application() -> WSGIHandler:
    """Return the application; raise ImproperlyConfigured with every fault of the settings.

    A web server runs no system checks of its own, so a missing secret would
    otherwise show only at the first request that needs it.
    """
    handler = get_wsgi_application()
    faults = [fault for fault in run_checks(tags=[Tags.security]) if fault.level >= ERROR]
    if faults:
        raise ImproperlyConfigured("\n".join(str(fault) for fault in faults))
    return handler


application = checked_application()
