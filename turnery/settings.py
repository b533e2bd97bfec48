"""Settings of the Django project. What differs from one machine to the next comes from the environment."""

import os
from pathlib import Path

from turnery.environment import database, mail_server, names, secret_key, switch

BASE_DIR = Path(__file__).resolve().parent.parent
VAR_DIR = Path(os.environ.get("TURNERY_VAR", BASE_DIR / "var"))

DEBUG = switch("DEBUG")
SECRET_KEY = secret_key(VAR_DIR)
ALLOWED_HOSTS = names("ALLOWED_HOSTS", default="localhost,127.0.0.1,[::1]")
CSRF_TRUSTED_ORIGINS = names("CSRF_TRUSTED_ORIGINS", default="")

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_htmx",
    "rest_framework",
    "rest_framework.authtoken",
    "drf_spectacular",
    "projects",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "turnery.security.content_security_policy",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
]

ROOT_URLCONF = "turnery.urls"
WSGI_APPLICATION = "turnery.wsgi.application"

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
            ]
        },
    }
]

DATABASES = {
    "default": database(url=os.environ.get("DATABASE_URL", ""), default_file=VAR_DIR / "turnery.sqlite3")
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in ("UserAttributeSimilarityValidator", "MinimumLengthValidator", "CommonPasswordValidator")
]
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "login"

LANGUAGE_CODE = "en"
TIME_ZONE = os.environ.get("TIME_ZONE", "UTC")
USE_I18N = False
USE_TZ = True

STATIC_URL = "static/"
STATIC_ROOT = VAR_DIR / "static"
STATICFILES_DIRS = [BASE_DIR / "static"]
# Straight from static/, so that a changed style sheet needs no collecting and no second copy.
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = DEBUG

# Sent over https, cookies are kept off plain http; on the maker's own machine there is only http.
BEHIND_HTTPS = switch("BEHIND_HTTPS")
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = BEHIND_HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if BEHIND_HTTPS else 0
if BEHIND_HTTPS:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
SESSION_COOKIE_AGE = 14 * 24 * 3600
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "SAMEORIGIN"  # the quote page shows its own PDF in a frame

# Photos from the bench. They are private: no address serves this folder, only pages that ask for the studio.
MEDIA_ROOT = Path(os.environ.get("TURNERY_MEDIA", VAR_DIR / "media"))
FILE_UPLOAD_PERMISSIONS = 0o600
STORAGES = {
    "default": {"BACKEND": "projects.stored.WholeFiles"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}

# Letters to clients. A server that does not answer holds up whoever pressed the button, but not for long.
MAIL = mail_server(os.environ.get("MAIL_URL", ""))
EMAIL_BACKEND = MAIL.backend
EMAIL_HOST, EMAIL_PORT = MAIL.host, MAIL.port
EMAIL_HOST_USER, EMAIL_HOST_PASSWORD = MAIL.user, MAIL.password
EMAIL_USE_SSL, EMAIL_USE_TLS = MAIL.security == "tls", MAIL.security == "starttls"
EMAIL_TIMEOUT = 10
EMAIL_USE_LOCALTIME = True
DEFAULT_FROM_EMAIL = os.environ.get("MAIL_FROM", "turnery@localhost")
# What stands before the links in letters: they are written where no request says how it came here.
SITE_ADDRESS = os.environ.get("SITE_ADDRESS", "http://127.0.0.1:8000").rstrip("/")

DATA_UPLOAD_MAX_MEMORY_SIZE = 1_000_000
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5_000

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "rest_framework.authentication.TokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["projects.api.access.IsMember"],
    "DEFAULT_PARSER_CLASSES": ["projects.api.parsing.BoundedJSONParser"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PAGINATION_CLASS": "projects.api.paging.Paging",
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "DEFAULT_THROTTLE_RATES": {"token": "20/hour"},
    "EXCEPTION_HANDLER": "projects.api.refusals.as_response",
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Turnery",
    "DESCRIPTION": "Designs, estimates and quotes of a studio that turns segmented wood.",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
}
