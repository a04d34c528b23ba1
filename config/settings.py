"""Settings, from the environment and safe by default.

Every variable is listed in DEVELOPERS.md. Nothing here asks for a network; the database is the embedded one unless
DATABASE_URL names a server.
"""

import contextlib
import os
import secrets
import tempfile
from pathlib import Path

import dj_database_url

from config.embedded_database import database_url
from config.environment import choice, switch, time_zone, whole_number

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(os.environ.get("HINGEWOOD_DATA_DIR") or BASE_DIR / "var").resolve()


def secret_key() -> str:
    """HINGEWOOD_SECRET_KEY, or one made once and kept in the data directory, readable by its owner alone."""
    if key := os.environ.get("HINGEWOOD_SECRET_KEY"):
        return key
    path = DATA_DIR / "secret_key"
    if not path.exists():
        DATA_DIR.mkdir(parents=True, exist_ok=True)
        # Whole or not at all: of two processes that start at once both must read the same key.
        with tempfile.NamedTemporaryFile("w", dir=DATA_DIR) as draft:
            draft.write(secrets.token_urlsafe(64))
            draft.flush()
            with contextlib.suppress(FileExistsError):
                os.link(draft.name, path)
    return path.read_text()


DEBUG = switch("HINGEWOOD_DEBUG", default=False)
SECRET_KEY = secret_key()
ALLOWED_HOSTS = os.environ.get("HINGEWOOD_HOSTS", "localhost,127.0.0.1,[::1]").split(",")
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS if host not in {"localhost", "127.0.0.1", "[::1]"}]

# HTTPS is expected unless said otherwise; the demo and the tests, on this machine alone, say otherwise.
HTTPS = switch("HINGEWOOD_HTTPS", default=not DEBUG)
SECURE_SSL_REDIRECT = HTTPS
SESSION_COOKIE_SECURE = HTTPS
CSRF_COOKIE_SECURE = HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS
SECURE_HSTS_PRELOAD = HTTPS
BEHIND_PROXY = switch("HINGEWOOD_BEHIND_PROXY", default=False)
if BEHIND_PROXY:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SECURE_CSP = {
    "default-src": ["'none'"],
    "script-src": ["'self'"],
    "style-src": ["'self'"],
    "img-src": ["'self'", "blob:", "data:"],
    "connect-src": ["'self'"],
    "font-src": ["'self'"],
    "worker-src": ["'self'"],
    "manifest-src": ["'self'"],
    "form-action": ["'self'"],
    "base-uri": ["'none'"],
    "frame-ancestors": ["'none'"],
}

INSTALLED_APPS = [
    "config",
    "reports",
    "removals",
    "hazards",
    "replanting",
    "inventory",
    "django.contrib.admin.apps.SimpleAdminConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.postgres",
    "django.contrib.humanize",
    "django.forms",
    "django_filters",
    "django_htmx",
    "django_tasks_db",
    "axes",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "config.csp.ContentSecurityPolicyMiddleware",
    "config.zero_bytes.RefuseZeroBytesMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "hazards.fresh.FreshRankingMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"
FORM_RENDERER = "django.forms.renderers.TemplatesSetting"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "inventory.context.reader",
                "config.navigation.walk",
            ],
            "builtins": ["inventory.templatetags.figures"],
        },
    }
]

DATABASES = {
    "default": dj_database_url.parse(
        os.environ.get("DATABASE_URL") or database_url(DATA_DIR),
        conn_max_age=60,
        conn_health_checks=True,
    )
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 12}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
AXES_FAILURE_LIMIT = 10
AXES_COOLOFF_TIME = 0.25  # hours
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_TEMPLATE = "registration/locked_out.html"
AXES_VERBOSE = False
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "reports:home"
LOGOUT_REDIRECT_URL = "login"
# A day's work in the field outlasts a weekend: two weeks from the last page.
SESSION_COOKIE_AGE = 14 * 24 * 3600
SESSION_SAVE_EVERY_REQUEST = False

LANGUAGE_CODE = "en-gb"
TIME_ZONE = time_zone("HINGEWOOD_TIME_ZONE", "UTC")
USE_I18N = False
USE_TZ = True
DATE_FORMAT = "j M Y"
DEFAULT_UNITS = choice("HINGEWOOD_UNITS", "metric", "us")
# Pests whose hosts are not planted unless the planner says so, by the codes or names of the palette, with commas.
WATCHED_PESTS = [pest.strip() for pest in os.environ.get("HINGEWOOD_WATCHED_PESTS", "").split(",") if pest.strip()]

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STATICFILES_DIRS = [BASE_DIR / "config" / "static"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "config.hashed_files.HashedStaticFiles"},
}
MEDIA_ROOT = DATA_DIR / "media"
MEDIA_URL = "media/"
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
IMPORT_MAX_BYTES = whole_number("HINGEWOOD_IMPORT_MAX_BYTES", 512 * 1024 * 1024)
PHOTO_MAX_BYTES = 15 * 1024 * 1024

# Whether the program may face people without a login at all; the city opens the page and Open311 on a page of its own.
PUBLIC_REPORTS = switch("HINGEWOOD_PUBLIC_REPORTS", default=False)
PUBLIC_REPORTS_AN_HOUR = whole_number("HINGEWOOD_PUBLIC_REPORTS_AN_HOUR", 5)
PUBLIC_FORM_LEAST_SECONDS = 4
OPEN311_REPORTS_AN_HOUR = whole_number("HINGEWOOD_OPEN311_REPORTS_AN_HOUR", 200)

TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend", "QUEUES": ["default"]}}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "root": {
        "handlers": ["console"],
        "level": choice("HINGEWOOD_LOG_LEVEL", "WARNING", "DEBUG", "INFO", "ERROR", "CRITICAL"),
    },
}
