"""All settings, read from the environment through env.py. Without any variable: SQLite in .data/, debug off, a secret made once."""

import sqlite3
from pathlib import Path

from csp.constants import NONE, SELF

from apps.config import env

BASE_DIR = Path(__file__).resolve().parents[2]
DATA_DIR = Path(env.text("DATA_DIR")) if Path(env.text("DATA_DIR")).is_absolute() else BASE_DIR / env.text("DATA_DIR")

DEBUG = env.flag("DEBUG")
HTTPS = env.flag("HTTPS")
SECRET_KEY = env.kept_secret(DATA_DIR)
RECORD_KEY = env.text("RECORD_KEY") or str(DATA_DIR / "record-key")
ALLOWED_HOSTS = env.names("ALLOWED_HOSTS")
ROOT_URLCONF = "apps.config.urls"
WSGI_APPLICATION = "apps.config.wsgi.application"

INSTALLED_APPS = [
    "apps.config",
    "apps.people",
    "apps.record",
    "apps.requirements",
    "apps.corridor",
    "apps.jobs",
    "apps.findings",
    "apps.followups",
    "apps.materials",
    "apps.holdpoints",
    "apps.audits",
    "apps.mailing",
    "apps.sheet",
    "apps.field",
    "apps.desk",
    "apps.board",
    "apps.dossier",
    "apps.bench",
    "apps.setup",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "allauth.usersessions",
    "csp",
    "django_filters",
    "django_htmx",
    "django.forms",  # its templates, for the renderer that looks into ours first
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.humanize",
    "django.contrib.messages",
    "django.contrib.sessions",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "apps.config.compress.Compress",
    "csp.middleware.CSPMiddleware",
    "apps.config.permissions.Permissions",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "apps.config.sessions.Sliding",
    "allauth.account.middleware.AccountMiddleware",
    "allauth.usersessions.middleware.UserSessionsMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "apps.config.methods.Methods",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]

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
                "apps.sheet.frame.frame",
            ],
        },
    },
]
FORM_RENDERER = "apps.sheet.forms.SheetRenderer"

# Old SQLite releases can lose commits in WAL mode (write-ahead log reset defect, 3.7.0 to 3.51.2, mended in 3.51.3, 3.50.7 and 3.44.6),
# so the journal follows the version. Never synchronous=NORMAL: it may roll back an acknowledged commit after a power loss.
_version = sqlite3.sqlite_version_info
SQLITE_WAL_IS_SOUND = (
    _version >= (3, 51, 3)
    or (_version[:2] == (3, 50) and _version >= (3, 50, 7))
    or (_version[:2] == (3, 44) and _version >= (3, 44, 6))
)
_journal = (
    "journal_mode=WAL; PRAGMA synchronous=FULL"
    if SQLITE_WAL_IS_SOUND
    else "journal_mode=DELETE; PRAGMA synchronous=EXTRA"
)
SQLITE_OPTIONS: dict[str, object] = {
    "transaction_mode": "IMMEDIATE",  # a transaction that read first could not wait for the lock
    "timeout": 20,
    "init_command": f"PRAGMA {_journal}; PRAGMA foreign_keys=ON;",
}
DATABASES = {"default": env.database(DATA_DIR, SQLITE_OPTIONS)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
CACHES = {"default": {"BACKEND": "django.core.cache.backends.db.DatabaseCache", "LOCATION": "config_cache"}}

AUTH_USER_MODEL = "people.Person"
AUTHENTICATION_BACKENDS = ["allauth.account.auth_backends.AuthenticationBackend"]
PASSWORD_HASHERS = ["apps.people.hashers.Argon2Hasher", "django.contrib.auth.hashers.PBKDF2PasswordHasher"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 15}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "account_login"
LOGIN_REDIRECT_URL = "home"
ACCOUNT_ADAPTER = "apps.people.adapter.ClosedAdapter"
ACCOUNT_FORMS = {"login": "apps.people.forms.SignInForm"}
ACCOUNT_LOGIN_METHODS = {"username"}
ACCOUNT_SIGNUP_FIELDS = ["username*", "password1*"]
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_RATE_LIMITS = {"login_failed": "5/15m/key,50/h/ip", "login": "300/m/ip"}
ACCOUNT_SESSION_REMEMBER = False
ACCOUNT_LOGOUT_REDIRECT_URL = "account_login"
MFA_SUPPORTED_TYPES = ["totp", "webauthn", "recovery_codes"]
MFA_WEBAUTHN_USER_VERIFICATION = "required"  # a passkey signs releases: it says that a person was there, and which
MFA_ALLOW_UNVERIFIED_EMAIL = True  # an administrator made the account; nobody proves an address by mail
USERSESSIONS_TRACK_ACTIVITY = False

SESSION_COOKIE_AGE = 12 * 3600  # one shift after the last use: config/sessions.py renews it, for a week at most
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = HTTPS
SESSION_COOKIE_NAME, CSRF_COOKIE_NAME = ("__Host-session", "__Host-csrf") if HTTPS else ("session", "csrf")
SECURE_HSTS_SECONDS = 365 * 24 * 3600 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if env.flag("TRUST_PROXY") else None
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "blob:", "data:"],
        "connect-src": [SELF],
        "font-src": [SELF],
        "manifest-src": [SELF],
        "worker-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "object-src": [NONE],
        "frame-ancestors": [NONE],
    }
}

LANGUAGE_CODE = "en-us"
TIME_ZONE = "UTC"
USE_TZ = True
USE_I18N = True

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STATIC_ROOT.mkdir(parents=True, exist_ok=True)  # WhiteNoise warns at every start where there is none
STATICFILES_DIRS = [BASE_DIR / "static"]
WHITENOISE_USE_FINDERS = True  # a clone serves its static files without a build step; `collectstatic` adds hashed names
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "apps.config.static.Storage"},
}
MEDIA_ROOT = DATA_DIR / "evidence"
RESULTS_ROOT = DATA_DIR / "results"  # of background jobs: made again when lost, so in no backup
WORKER_BESIDE = env.flag("WORKER_BESIDE")
DATA_UPLOAD_MAX_NUMBER_FIELDS = 4000
DATA_UPLOAD_MAX_MEMORY_SIZE = 10 * 1024 * 1024
PHOTO_MAX_BYTES = 25 * 1024 * 1024

for _name, _value in env.mail().items():
    globals()[_name] = _value
MAIL_ROOT = DATA_DIR / "mail"  # of EMAIL_URL=file
SITE_ADDRESS = env.address("SITE_ADDRESS")
DEFAULT_FROM_EMAIL = env.text("EMAIL_FROM")

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name} {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
}
