"""How the service is set up. What differs from place to place comes from the environment."""

from pathlib import Path
from typing import Any

from csp.constants import NONCE, NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from api import VERSION, environment

ROOT = Path(__file__).resolve().parent.parent
DATA = environment.path("FILLMARK_DATA", default=ROOT / ".data")
HTTPS = environment.flag("FILLMARK_HTTPS")
HOSTS = environment.names("FILLMARK_HOSTS")
# The moment of a request may be named in a header. Never where real animals are kept.
TEST_CLOCK = environment.flag("FILLMARK_TEST_CLOCK")
if TEST_CLOCK and (HTTPS or HOSTS):
    raise ImproperlyConfigured("The test clock is for 127.0.0.1 alone: no HTTPS, no hosts.")

DEBUG = environment.flag("FILLMARK_DEBUG")
SECRET_KEY = environment.secret("FILLMARK_SECRET_KEY", DATA / "secret_key")
# Whether people may be called at addresses inside a private network.
PRIVATE_ADDRESSES = environment.flag("FILLMARK_PRIVATE_ADDRESSES")
# Keys that sign outward things; never in the database.
KEYS = environment.path("FILLMARK_KEYS", default=DATA / "keys")
# Which of the two names of Ed25519 stands on what is signed: older programs know one alone.
SIGNING_ALG = environment.text(
    "FILLMARK_SIGNING_ALG", default="EdDSA", choices=("EdDSA", "Ed25519")
)
# Under which address buyers find certificates; without it that of the request.
ADDRESS = environment.address("FILLMARK_ADDRESS")
# How letters to buyers go out; without it, or without the address, none are offered.
MAIL, DEFAULT_FROM_EMAIL = environment.mail("FILLMARK_MAIL")
ALLOWED_HOSTS = ["127.0.0.1", "localhost", "[::1]", *HOSTS]
ROOT_URLCONF = "api.urls"
WSGI_APPLICATION = "api.wsgi.application"

INSTALLED_APPS = [
    "stock",
    "api",
    "django.contrib.contenttypes",
    "django.contrib.auth",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "rest_framework",
    "drf_spectacular",
    "django_htmx",
    "csp",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "api.zipped.Zipped",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "api.limits.SizeLimit",
    "api.limits.NoNulInQueries",
    "api.pages.acting.Sessions",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "api.language.OwnLanguage",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "api.clock.NamedMoment",
    "api.pages.acting.WhoActs",
    "csp.middleware.CSPMiddleware",
]

# What the timetable runs beside its sweeps: (site, moment) -> what it says of it.
JOBS = {"exports": "api.exports.making.make_due", "letters": "api.public.letters.send_due"}

# -- Database ---------------------------------------------------------------------------

DATABASES: dict[str, dict[str, Any]] = environment.databases(
    environment.text("DATABASE_URL", default=f"sqlite:///{DATA / 'fillmark.sqlite3'}")
)
# Where long reports and exports read: a connection that cannot write and holds up nobody.
REPORTS = "reports"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# -- People -----------------------------------------------------------------------------

AUTH_USER_MODEL = "stock.Person"
AUTHENTICATION_BACKENDS = ["api.pages.backend.PersonBackend"]
LOGIN_URL = "sign-in"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator"},
]
# What was just recorded travels in a cookie: showing it writes nothing.
MESSAGE_STORAGE = "django.contrib.messages.storage.cookie.CookieStorage"
SESSION_COOKIE_HTTPONLY = CSRF_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
CSRF_FAILURE_VIEW = "api.pages.contact.csrf_failed"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS

# -- What the browser is told -----------------------------------------------------------

SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
# With HTTPS a proxy stands in front, which sets this header itself.
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS else None
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in HOSTS] if HTTPS else []
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SILENCED_SYSTEM_CHECKS = [
    "security.W005",  # other names under the shop's domain are not ours to decide about,
    "security.W021",  # nor is a browser's list of such domains
]
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "script-src": [SELF, NONCE],
        "img-src": [SELF, "data:", "blob:"],
        "object-src": [NONE],
        "base-uri": [NONE],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}

# -- What may be sent --------------------------------------------------------------------

FILE_MOST_BYTES = 20_000_000
DATA_UPLOAD_MAX_MEMORY_SIZE = 2_500_000

# -- Pages and static files -------------------------------------------------------------

TEMPLATES: list[dict[str, Any]] = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "api.pages.tablet.frame",
            ]
        },
    }
]
STATIC_URL = "/static/"
# Few and small files, straight from the source: nothing has to be collected before a start.
WHITENOISE_USE_FINDERS = True

# -- Time and language ------------------------------------------------------------------

USE_TZ = True
TIME_ZONE = "UTC"
LANGUAGE_CODE = "en"
# What somebody may choose to read in; chosen before sign-in, a cookie of this browser keeps it.
LANGUAGES = [("en", "English"), ("es", "Español")]
LANGUAGE_COOKIE_NAME = "fillmark_language"
LANGUAGE_COOKIE_HTTPONLY = True
LANGUAGE_COOKIE_SAMESITE = "Lax"
LANGUAGE_COOKIE_SECURE = HTTPS
LANGUAGE_COOKIE_AGE = 365 * 24 * 3600

# -- REST -------------------------------------------------------------------------------

REST_FRAMEWORK: dict[str, Any] = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "api.rest.tokens.TokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_RENDERER_CLASSES": [
        "api.rest.outputs.Json",
        "api.rest.outputs.ProblemJson",
    ],
    "DEFAULT_PARSER_CLASSES": ["api.rest.parsers.JsonBody"],
    "EXCEPTION_HANDLER": "api.rest.problems.explain",
    "DEFAULT_SCHEMA_CLASS": "api.rest.schema.Schema",
    # Numbers with a fraction are strings, as they were typed.
    "COERCE_DECIMAL_TO_STRING": True,
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Fillmark",
    "VERSION": VERSION,
    "SERVE_INCLUDE_SCHEMA": False,
    "ENUM_NAME_OVERRIDES": {
        "PieceTypeEnum": "protocols.kinds.kits.PIECE_TYPES",
        "DryFractionFromEnum": "protocols.kinds.mixing.KNOWN_FROM",
    },
}

# -- What is said on the terminal -------------------------------------------------------

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"terminal": {"class": "logging.StreamHandler"}},
    "root": {"handlers": ["terminal"], "level": "WARNING"},
    "loggers": {
        # A refused request is an answer, not an event.
        "django.request": {"handlers": ["terminal"], "level": "ERROR", "propagate": False},
    },
}
