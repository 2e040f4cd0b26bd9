"""Settings, read from the environment, with safe defaults for one machine on its own.

DEBUG is off unless SHOP_DEBUG=1. Without SHOP_SECRET_KEY a key is made once and kept beside the embedded database, readable by its owner alone.
"""

import os
import secrets
from pathlib import Path

import dj_database_url
from django.core.exceptions import ImproperlyConfigured

BASE_DIR = Path(__file__).resolve().parent.parent
VAR_DIR = Path(os.environ.get("SHOP_VAR", BASE_DIR / "var"))
VAR_DIR.mkdir(mode=0o700, parents=True, exist_ok=True)  # passwords and papers lie in it: for its owner alone

LOOPBACK = ["localhost", "127.0.0.1", "[::1]"]


def words(name: str, default: list[str]) -> list[str]:
    """Return the comma-separated words of an environment variable."""
    given = os.environ.get(name)
    return [word.strip() for word in given.split(",") if word.strip()] if given else default


def is_on(name: str, default: str = "0") -> bool:
    """Return whether a switch of the environment is on; anything but 0 and 1 is refused, for a misread switch leaves a door open."""
    given = os.environ.get(name) or default
    if given not in ("0", "1"):
        raise ImproperlyConfigured(f"{name} is 0 or 1, not {given!r}.")
    return given == "1"


def one_of(name: str, *choices: str) -> str:
    """Return one of a few words, the first where the environment says nothing."""
    given = os.environ.get(name) or choices[0]
    if given not in choices:
        raise ImproperlyConfigured(f"{name} is {' or '.join(choices)}, not {given!r}.")
    return given


def kept_key(path: Path) -> str:
    """Return the key kept in `path`, made on first use."""
    try:
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
            file.write(secrets.token_urlsafe(64))
    except FileExistsError:
        pass
    return path.read_text()


DEBUG = is_on("SHOP_DEBUG")
ALLOWED_HOSTS = words("SHOP_HOSTS", LOOPBACK)
SECRET_KEY = os.environ.get("SHOP_SECRET_KEY") or kept_key(VAR_DIR / "secret_key")

if DEBUG and set(ALLOWED_HOSTS) - set(LOOPBACK):
    raise ImproperlyConfigured("SHOP_DEBUG=1 is for this machine alone: take it away or leave SHOP_HOSTS at its default.")
if any("*" in host for host in ALLOWED_HOSTS):
    raise ImproperlyConfigured("SHOP_HOSTS names each host that may be asked for in full; '*' would let in all.")
if len(SECRET_KEY) < 50:
    raise ImproperlyConfigured("SHOP_SECRET_KEY must have 50 characters or more.")
if SECRET_KEY.startswith("django-insecure-") or len(set(SECRET_KEY)) < 12:
    raise ImproperlyConfigured("SHOP_SECRET_KEY must be drawn by lot, not typed; leave it away and one is made.")

INSTALLED_APPS = [
    "fleet",
    "shop",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.forms",
    "django_tables2",
    "django_filters",
    "axes",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "shop.middleware.closed_doors",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.middleware.gzip.GZipMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "shop.middleware.shift_end",
    "shop.middleware.noted_refusals",
    "shop.middleware.told_troubles",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "shop.urls"
WSGI_APPLICATION = "shop.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "shop.roles.what_i_may",
            ],
            "builtins": ["shop.templatetags.figures"],
        },
    }
]

DATABASES = {"default": dj_database_url.config(default=f"sqlite:///{VAR_DIR / 'shop.sqlite3'}")}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # Readers never wait for the writer (WAL), a writer takes its place at once (IMMEDIATE) and waits its turn, each commit reaches the disk (FULL).
    DATABASES["default"]["OPTIONS"] = {
        "timeout": 20,
        "transaction_mode": "IMMEDIATE",
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;",
    }
    # Tests run on a real file: a database in memory has other locks than the shop's.
    DATABASES["default"]["TEST"] = {"NAME": str(VAR_DIR / f"test-{os.getpid()}.sqlite3")}

AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "shop.people.passwords.NoOwnName"},
]
LOGIN_URL = "sign_in"
LOGIN_REDIRECT_URL = "today"
LOGOUT_REDIRECT_URL = "sign_in"
AXES_FAILURE_LIMIT = 10
AXES_COOLOFF_TIME = 0.25  # hours
AXES_LOCKOUT_PARAMETERS = ["username"]
AXES_RESET_ON_SUCCESS = True
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False  # the lock lifts by itself, however often somebody knocks meanwhile
AXES_LOCKOUT_CALLABLE = "shop.people.views.locked_out"
AXES_VERBOSE = False
SILENCED_SYSTEM_CHECKS = ["axes.W006"]  # a shop shares one address: the account is locked, not the yard

LANGUAGE_CODE = "en"
USE_I18N = True
USE_TZ = True
TIME_ZONE = os.environ.get("SHOP_TIME_ZONE", "UTC")

STATIC_URL = "static/"
WHITENOISE_USE_FINDERS = True
WHITENOISE_MAX_AGE = 300
MEDIA_ROOT = VAR_DIR / "papers"
DATA_UPLOAD_MAX_MEMORY_SIZE = 12_000_000
DATA_UPLOAD_MAX_NUMBER_FIELDS = 3_000
UPLOAD_MB_A_DAY = int(os.environ.get("SHOP_UPLOAD_MB_A_DAY") or 500)  # for one person, photos, papers and sheets together
FILE_UPLOAD_PERMISSIONS = 0o600

DJANGO_TABLES2_TEMPLATE = "shop/_table.html"

# A browser on the shop's own network may come over plain http; behind TLS set SHOP_TLS=1 (see README, "On a server").
ON_ITS_OWN = set(ALLOWED_HOSTS) <= set(LOOPBACK)
TLS = is_on("SHOP_TLS", "0" if ON_ITS_OWN else "1")
if ON_ITS_OWN and not TLS:
    # Nothing leaves this machine, so there is no wire to protect; as soon as SHOP_HOSTS names another host these checks speak again.
    SILENCED_SYSTEM_CHECKS += ["security.W004", "security.W008", "security.W012", "security.W016"]
SECURE_SSL_REDIRECT = SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = TLS
SECURE_HSTS_SECONDS = 31_536_000 if TLS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = TLS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if is_on("SHOP_PROXY") else None
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS if host not in LOOPBACK]
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_HTTPONLY = CSRF_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_AGE = 30 * 60
SESSION_SAVE_EVERY_REQUEST = False
SHIFT_HOURS = 12
IDLE_MINUTES = 30

MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
FORM_RENDERER = "shop.form_looks.ShopFormRenderer"

SHOP_NAME = os.environ.get("SHOP_NAME", "Hydrostatic drive shop")
SHOP_CURRENCY = os.environ.get("SHOP_CURRENCY", "EUR")
SHOP_PAPER = one_of("SHOP_PAPER", "A4", "Letter")
SHOP_PHONE = os.environ.get("SHOP_PHONE", "")
SHOP_ADDRESS = os.environ.get(
    "SHOP_ADDRESS", ""
)  # such as https://book.example: printed codes then open the page, else they say the number
SHOP_FONT_EXTRA = os.environ.get("SHOP_FONT_EXTRA", "")  # one more TrueType file for names the own fonts lack
SHOP_COMEBACK_DAYS = int(os.environ.get("SHOP_COMEBACK_DAYS", "90"))
SHOP_COMEBACK_HOURS = int(os.environ.get("SHOP_COMEBACK_HOURS", "100"))

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"()": "shop.keeping.journal.UtcLine", "format": "{asctime} {levelname} {name} {message}", "style": "{"}},
    "handlers": {"err": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["err"], "level": "WARNING"},
    "loggers": {"shop": {"level": "INFO"}, "axes": {"level": "ERROR"}},
}
