"""All settings. What differs between workshops comes from the environment; DEVELOPERS.md lists the names."""

import os
from pathlib import Path

from soapshop.environment import allowed_hosts, data_folder, database, flag, secret_key, text, web_address

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = data_folder()

TLS_DIR = DATA_DIR / "tls"
PLAIN_PORT = SECURE_PORT = 0  # set by `serve` and `demo`: the ports on which they speak HTTP and HTTPS

SECRET_KEY = secret_key(DATA_DIR)
DEBUG = flag("SOAPSHOP_DEBUG")
ALLOWED_HOSTS = allowed_hosts()
PUBLIC_ADDRESS = web_address("SOAPSHOP_ADDRESS")
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS if host != "*"]

INSTALLED_APPS = [
    "soapshop",
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "template_partials",
    "axes",
    "soapshop.core",
    "inventory",
    "recipes",
    "batches",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "soapshop.core.middleware.CompressionMiddleware",
    "soapshop.core.middleware.PolicyHeadersMiddleware",
    "soapshop.core.middleware.SecureCookiesMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "soapshop.core.middleware.WorkshopMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "soapshop.urls"
WSGI_APPLICATION = "soapshop.wsgi.application"

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
                "soapshop.core.context.workshop",
            ],
        },
    },
]

DATABASES = {"default": database(os.environ.get("DATABASE_URL", ""), DATA_DIR)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "core.User"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
LOGIN_URL = "core:sign_in"
LOGIN_REDIRECT_URL = "batches:today"
LOGOUT_REDIRECT_URL = "core:sign_in"

AXES_FAILURE_LIMIT = 10
AXES_COOLOFF_TIME = 0.25  # hours: a maker who mistyped is back within the time of a cup of tea
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_TEMPLATE = "account/locked_out.html"
AXES_RESET_ON_SUCCESS = True
AXES_DISABLE_ACCESS_LOG = True
AXES_VERBOSE = False

# English is the source of every message. To add a language: DEVELOPERS.md, "Languages".
LANGUAGE_CODE = "en-gb"
LANGUAGES = [("en-gb", "English")]
LOCALE_PATHS = [BASE_DIR / "soapshop" / "locale"]
USE_I18N = True
USE_TZ = True
TIME_ZONE = text("SOAPSHOP_TIME_ZONE", "UTC")

STATIC_URL = "/static/"
STATIC_ROOT = DATA_DIR / "static"
MEDIA_ROOT = DATA_DIR / "media"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": (
            "django.contrib.staticfiles.storage.StaticFilesStorage"
            if DEBUG
            else "soapshop.static_files.StaticFilesStorage"
        )
    },
}
WHITENOISE_USE_FINDERS = DEBUG
WHITENOISE_KEEP_ONLY_HASHED_FILES = True  # half the work of compressing, at the first start

# Photos are checked against their own limit in soapshop/core/services/photos.py, with a message beside the
# field; these two keep the rest of a request small.
DATA_UPLOAD_MAX_MEMORY_SIZE = 2_500_000
DATA_UPLOAD_MAX_NUMBER_FIELDS = 2_000
FILE_UPLOAD_MAX_MEMORY_SIZE = 2_500_000

MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"

SESSION_COOKIE_NAME = "soapshop_session"
SESSION_COOKIE_AGE = 60 * 60 * 24 * 60
CSRF_COOKIE_NAME = "soapshop_csrf"
CSRF_COOKIE_HTTPONLY = True
CSRF_FAILURE_VIEW = "soapshop.core.views.errors.csrf_failure"
X_FRAME_OPTIONS = "DENY"
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CONTENT_TYPE_NOSNIFF = True

TLS = flag("SOAPSHOP_TLS")
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = TLS
SECURE_HSTS_SECONDS = 60 * 60 * 24 * 365 if TLS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = TLS
if flag("SOAPSHOP_BEHIND_PROXY"):
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    # A form with a slip in it is answered with 422: that is no news for whoever reads the log.
    "loggers": {"django.request": {"level": "ERROR"}},
}
