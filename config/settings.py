"""The settings: read from the environment, usable with none set, strict in production."""

from __future__ import annotations

import os
from email.utils import parseaddr
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import django_stubs_ext
from csp.constants import NONE, SELF
from django.utils.translation import gettext_lazy as _
from xstatic.pkg import leaflet

from config.databases import database_settings
from config.environment import Environment

django_stubs_ext.monkeypatch()

BASE_DIR = Path(__file__).resolve().parent.parent
ENVIRONMENT = Environment(values=os.environ)

# --- mode and secrets -------------------------------------------------------
MODE = ENVIRONMENT.choice(
    "WATERCLERK_MODE", among=("development", "production"), default="development"
)
PRODUCTION = MODE == "production"
DEBUG = False if PRODUCTION else ENVIRONMENT.yes("WATERCLERK_DEBUG", default=False)

# Known to everybody who can read this file: fit for a trial on one's own machine,
# refused in production, where neither secret has a default.
_TRIAL_SECRET = "" if PRODUCTION else "not-a-secret-for-trials-on-one-machine-only"
SECRET_KEY = ENVIRONMENT.text("WATERCLERK_SECRET_KEY", default=_TRIAL_SECRET)
# Signs the links printed in letters; changing it ends every link sent so far.
LINK_KEY = ENVIRONMENT.text("WATERCLERK_LINK_KEY", default=_TRIAL_SECRET)

# --- addresses ----------------------------------------------------------------
BASE_URL = ENVIRONMENT.text("WATERCLERK_BASE_URL", default="http://127.0.0.1:8000").rstrip("/")
# Without one, an address shown on a page is the one that the page was asked for at.
BASE_URL_IS_GIVEN = bool(ENVIRONMENT.text("WATERCLERK_BASE_URL"))
_host = urlsplit(BASE_URL).hostname or ""
ALLOWED_HOSTS = ENVIRONMENT.words(
    "WATERCLERK_HOSTS", default=[_host] if PRODUCTION else ["127.0.0.1", "localhost", "[::1]"]
)
CSRF_TRUSTED_ORIGINS = [BASE_URL] if BASE_URL.startswith(("http://", "https://")) else []
ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"

# --- what the project is made of ------------------------------------------------
INSTALLED_APPS = [
    "whitenoise.runserver_nostatic",
    "config.apps.ConfigConfig",
    "reports.apps.ReportsConfig",
    "notices.apps.NoticesConfig",
    "scheduling.apps.SchedulingConfig",
    "registry.apps.RegistryConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "django_q",
    "axes",
    "csp",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "axes.middleware.AxesMiddleware",
]

TEMPLATES: list[dict[str, Any]] = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "config" / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "config.masthead.masthead",
            ],
        },
    },
]

# --- data -----------------------------------------------------------------------
DATABASES = {"default": database_settings(ENVIRONMENT, root=BASE_DIR)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# The queue only wakes work that rows of our own already describe. A task may run
# again once `retry` has passed, hence retry > timeout; a missed slot is not caught
# up, because a run asks what is owed now.
REDIS_URL = ENVIRONMENT.text("REDIS_URL")
Q_CLUSTER: dict[str, Any] = {
    "name": "waterclerk",
    "workers": ENVIRONMENT.whole("WATERCLERK_WORKERS", default=2, least=1, most=64),
    "timeout": ENVIRONMENT.whole("WATERCLERK_TASK_TIMEOUT", default=1800, least=10, most=86400),
    "retry": ENVIRONMENT.whole("WATERCLERK_TASK_RETRY", default=2400, least=11, most=172800),
    "catch_up": False,
    "bulk": 1,
    **({"redis": REDIS_URL} if REDIS_URL else {"orm": "default"}),
}

# The local hour at which each live program's day begins; it is run soon after.
DAY_BEGINS_AT = ENVIRONMENT.whole("WATERCLERK_DAY_BEGINS_AT", default=5, least=0, most=23)

# --- people -----------------------------------------------------------------------
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in (
        "UserAttributeSimilarityValidator",
        "MinimumLengthValidator",
        "CommonPasswordValidator",
        "NumericPasswordValidator",
    )
]
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "login"
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = 0.25  # hours
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_RESET_ON_SUCCESS = True
AXES_LOCKOUT_TEMPLATE = "registry/locked.html"
AXES_VERBOSE = False

# --- what a browser may do ---------------------------------------------------------
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "object-src": [NONE],
        "frame-src": [SELF],
        "manifest-src": [SELF],
        "base-uri": [NONE],
        "form-action": [SELF],
        "frame-ancestors": [SELF],
    },
}
X_FRAME_OPTIONS = "SAMEORIGIN"
# Not no-referrer: without one a browser sends no origin either, and Django refuses the form.
# Pages behind a secret link say no-referrer for themselves.
SECURE_REFERRER_POLICY = "same-origin"
SILENCED_SYSTEM_CHECKS = [
    "security.W005",  # other names under the office's domain are not ours to bind
    "security.W019",  # a kept letter is shown in a frame of our own page
    "security.W021",  # nor is the browsers' preload list
]
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = BASE_URL.startswith("https://")
SECURE_SSL_REDIRECT = PRODUCTION and ENVIRONMENT.yes("WATERCLERK_HTTPS_REDIRECT", default=True)
SECURE_HSTS_SECONDS = 31536000 if PRODUCTION else 0
SECURE_REDIRECT_EXEMPT = [r"^healthz$"]
if ENVIRONMENT.yes("WATERCLERK_BEHIND_PROXY", default=False):
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")

# --- mail ---------------------------------------------------------------------------
EMAIL_HOST = ENVIRONMENT.text("WATERCLERK_SMTP_HOST")
EMAIL_PORT = ENVIRONMENT.whole("WATERCLERK_SMTP_PORT", default=587, least=1, most=65535)
EMAIL_HOST_USER = ENVIRONMENT.text("WATERCLERK_SMTP_USER")
EMAIL_HOST_PASSWORD = ENVIRONMENT.text("WATERCLERK_SMTP_PASSWORD")
# RFC 8314, 7.3: on port 465 the line is encrypted from its first byte; elsewhere by STARTTLS.
_ENCRYPTED = ENVIRONMENT.yes("WATERCLERK_SMTP_TLS", default=True)
EMAIL_USE_SSL = _ENCRYPTED and EMAIL_PORT == 465
EMAIL_USE_TLS = _ENCRYPTED and not EMAIL_USE_SSL
EMAIL_TIMEOUT = 20
EMAIL_BACKEND = (
    "django.core.mail.backends.smtp.EmailBackend"
    if EMAIL_HOST
    else "django.core.mail.backends.dummy.EmailBackend"
)
DEFAULT_FROM_EMAIL = ENVIRONMENT.text("WATERCLERK_MAIL_FROM", default="office@waterclerk.invalid")
MAIL_IS_SET_UP = bool(EMAIL_HOST)
MAIL_FROM_ADDRESS = parseaddr(DEFAULT_FROM_EMAIL)[1]
# Bounces come to NAME+TOKEN@HOST, so that each names its letter; without it to the sender.
BOUNCE_ADDRESS = ENVIRONMENT.text("WATERCLERK_BOUNCE_ADDRESS")
# Signs what a mail provider posts about bounces; without it nothing is taken.
BOUNCE_KEY = ENVIRONMENT.text("WATERCLERK_BOUNCE_KEY")
# An mbox or a Maildir that bounces come to, read at every wake-up; without it nothing is read.
BOUNCE_MAILBOX = ENVIRONMENT.text("WATERCLERK_BOUNCE_MAILBOX")

# --- rounds ---------------------------------------------------------------------------
# The road map that `make roads` builds; without the file plans reckon by the straight line.
ROADS = ENVIRONMENT.text("WATERCLERK_ROADS", default=str(BASE_DIR / "var" / "roads.npz"))

# --- words and time -------------------------------------------------------------------
LANGUAGES = [("en", _("English")), ("es", _("Spanish"))]
LANGUAGE_CODE = ENVIRONMENT.choice("WATERCLERK_LANGUAGE", among=("en", "es"), default="en")
LOCALE_PATHS = [BASE_DIR / "config" / "locale"]
USE_I18N = True
TIME_ZONE = "UTC"  # a program has its own zone; "today" is worked out from that, at the edge
USE_TZ = True

# --- files ---------------------------------------------------------------------------
STATIC_URL = "static/"
# In development files are served from where they are; production collects them first.
STATIC_ROOT = BASE_DIR / "staticfiles" if PRODUCTION else None
# Leaflet comes as a package, served under leaflet/; htmx comes with django_htmx.
STATICFILES_DIRS = [BASE_DIR / "config" / "static", ("leaflet", leaflet.BASE_DIR)]
WHITENOISE_USE_FINDERS = not PRODUCTION
WHITENOISE_AUTOREFRESH = DEBUG
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": (
            "whitenoise.storage.CompressedManifestStaticFilesStorage"
            if PRODUCTION
            else "django.contrib.staticfiles.storage.StaticFilesStorage"
        )
    },
}
DATA_UPLOAD_MAX_MEMORY_SIZE = 10 * 1024 * 1024
FILE_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024

LOGGING: dict[str, Any] = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "plain"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
}
