"""Django's settings of the bench site; everything of one installation comes from its data folder and the environment.

ISOHUME_DATA      the data folder (database, secret key, papers, logs)
ISOHUME_ADDRESS   host:port of the pages
ISOHUME_LIVE      host:port of the live process
ISOHUME_HOSTS     further host names the site answers to, separated by commas
ISOHUME_HTTPS     "1" where the site is reached through TLS: cookies are then sent over TLS only
"""

from __future__ import annotations

import os
from pathlib import Path

from csp.constants import NONE, SELF

from isohume.bench.record.tables import DATABASE
from isohume.outlets.site.config.secret import secret_key

DATA = Path(os.environ["ISOHUME_DATA"])
ADDRESS = os.environ.get("ISOHUME_ADDRESS", "127.0.0.1:8765")
LIVE = os.environ.get("ISOHUME_LIVE", "")
HTTPS = os.environ.get("ISOHUME_HTTPS") == "1"

SECRET_KEY = secret_key(DATA)
DEBUG = False
ALLOWED_HOSTS = [
    "127.0.0.1",
    "localhost",
    "[::1]",
    ADDRESS.rpartition(":")[0].strip("[]") or "localhost",
    *filter(None, os.environ.get("ISOHUME_HOSTS", "").split(",")),
]
ROOT_URLCONF = "isohume.outlets.site.config.urls"
WSGI_APPLICATION = "isohume.outlets.site.config.wsgi.application"
SITE = "isohume.outlets.site"
APPS = (
    "ledger", "people", "register", "bench", "checks", "lots", "records", "studies", "work",
    "charts", "lookback", "adjustments", "comparisons", "strata", "budgets", "incoming", "captures", "outbox",
)  # fmt: skip
INSTALLED_APPS = [
    "django.contrib.contenttypes",
    "django.contrib.auth",
    "django.contrib.sessions",
    "django.contrib.staticfiles",
    "axes",
    "csp",
    "django_htmx",
    *(f"{SITE}.{app}" for app in ("look", *APPS)),
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    f"{SITE}.outbox.middleware.OutboxMiddleware",
    f"{SITE}.people.middleware.SignedInMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "axes.middleware.AxesMiddleware",
]
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.jinja2.Jinja2",
        "DIRS": sorted(str(folder) for folder in Path(__file__).parents[1].glob("*/templates")),
        "APP_DIRS": False,
        "OPTIONS": {"environment": f"{SITE}.config.jinja.environment"},
    }
]
DATABASES = {
    "default": {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": DATA / DATABASE,
        "CONN_MAX_AGE": None,
        "OPTIONS": {
            # IMMEDIATE: a change reads under the write lock it will need, so two changes never meet half way
            "transaction_mode": "IMMEDIATE",
            "timeout": 30,
            "init_command": "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON",
        },
        "TEST": {"NAME": str(DATA / DATABASE)},
    }
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "people.Person"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
_VALIDATION = "django.contrib.auth.password_validation"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"{_VALIDATION}.MinimumLengthValidator", "OPTIONS": {"min_length": 12}},
    {"NAME": f"{_VALIDATION}.CommonPasswordValidator"},
    {"NAME": f"{_VALIDATION}.UserAttributeSimilarityValidator", "OPTIONS": {"user_attributes": ["username"]}},
]
LOGIN_URL = "sign_in"
LOGIN_REDIRECT_URL = "today"

AXES_FAILURE_LIMIT = 5
AXES_LOCKOUT_PARAMETERS = ["username"]
AXES_COOLOFF_TIME = 0.25  # hours; an administrator may unlock earlier
AXES_RESET_ON_SUCCESS = True
AXES_DISABLE_ACCESS_LOG = True
AXES_VERBOSE = False
AXES_LOCKOUT_CALLABLE = "isohume.outlets.site.people.lock_out.page_as_it_is"

SESSION_COOKIE_AGE = 12 * 3600
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Strict"
CSRF_COOKIE_HTTPONLY = True
CSRF_COOKIE_SAMESITE = "Strict"
CSRF_FAILURE_VIEW = f"{SITE}.people.views.errors.no_token"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS] if HTTPS else []
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
LIVE_ORIGIN = f"{'https' if HTTPS else 'http'}://{LIVE}" if LIVE else ""
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "connect-src": [SELF, *([LIVE_ORIGIN] if LIVE_ORIGIN else [])],
        "img-src": [SELF],
        "object-src": [NONE],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
        "form-action": [SELF],
    }
}

STATIC_URL = "/static/"
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = False
DATA_UPLOAD_MAX_MEMORY_SIZE = 4_000_000
FILE_UPLOAD_MAX_MEMORY_SIZE = 4_000_000
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000

USE_TZ = True
TIME_ZONE = "UTC"
LANGUAGE_CODE = "en"
USE_I18N = True
LOGGING_CONFIG = None
